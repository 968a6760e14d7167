use std::io::{self, IsTerminal};
use std::time::Duration;

use ratatui::DefaultTerminal;
use ratatui::crossterm::event::{self, Event, KeyCode, KeyEvent, KeyModifiers};
use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

use crate::tui::model::{Msg, Pressed};

/// The terminal, taken over; given back when dropped, also after a panic in any thread.
pub struct Screen {
    /// Where to draw.
    pub terminal: DefaultTerminal,
    signals: Signals,
}

impl Screen {
    /// Takes the terminal over.
    ///
    /// # Errors
    /// When standard output is no terminal or will not be put into raw mode.
    pub fn open() -> io::Result<Self> {
        if !io::stdout().is_terminal() {
            return Err(io::Error::new(io::ErrorKind::Unsupported, "standard output is not a terminal"));
        }
        let signals = Signals::new([SIGTERM, SIGHUP, SIGINT])?;
        // ratatui installs a hook that gives the terminal back before the message of a panic is printed.
        let terminal = ratatui::try_init()?;
        Ok(Self { terminal, signals })
    }

    /// What was pressed or asked for, waiting at most `wait`.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub fn next(&mut self, wait: Duration) -> io::Result<Option<Msg>> {
        if self.signals.pending().next().is_some() {
            return Ok(Some(Msg::Quit));
        }
        if !event::poll(wait)? {
            return Ok(None);
        }
        Ok(match event::read()? {
            Event::Key(key) if key.is_press() => pressed(key).map(Msg::Key),
            Event::Resize(..) => Some(Msg::Resized),
            _ => None,
        })
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        ratatui::restore();
    }
}

fn pressed(key: KeyEvent) -> Option<Pressed> {
    if key.modifiers.contains(KeyModifiers::CONTROL) && key.code == KeyCode::Char('c') {
        return Some(Pressed::End);
    }
    match key.code {
        KeyCode::Char(' ') | KeyCode::PageDown => Some(Pressed::Pause),
        KeyCode::Char('r') | KeyCode::PageUp => Some(Pressed::Again),
        KeyCode::Char('s') => Some(Pressed::Slower),
        KeyCode::Char('n') => Some(Pressed::Another),
        KeyCode::Char('o') => Some(Pressed::PlayBack),
        KeyCode::Char('q') | KeyCode::Esc => Some(Pressed::End),
        KeyCode::Char('?') => Some(Pressed::Help),
        _ => None,
    }
}

/// The wish to end, from outside: control-c, or the system.
#[derive(Debug, Clone)]
pub struct Interrupts(std::sync::Arc<std::sync::atomic::AtomicBool>);

impl Interrupts {
    /// Somebody asked.
    #[must_use]
    pub fn raised(&self) -> bool {
        self.0.load(std::sync::atomic::Ordering::Relaxed)
    }
}

/// Listens for control-c and for being asked to end, where no screen does.
///
/// # Errors
/// When the system does not let us listen.
pub fn interrupts() -> io::Result<Interrupts> {
    let flag = std::sync::Arc::default();
    for signal in [SIGTERM, SIGHUP, SIGINT] {
        signal_hook::flag::register(signal, std::sync::Arc::clone(&flag))?;
    }
    Ok(Interrupts(flag))
}
