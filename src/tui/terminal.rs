use std::io::{self, IsTerminal};
use std::mem::ManuallyDrop;
use std::panic;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, LazyLock, Once};
use std::thread;
use std::time::Duration;

use crossbeam_channel::{Receiver, RecvTimeoutError, bounded};
use ratatui::backend::{Backend, CrosstermBackend};
use ratatui::crossterm::cursor::Show;
use ratatui::crossterm::event::{self, Event, KeyCode, KeyEvent, KeyModifiers};
use ratatui::crossterm::execute;
use ratatui::crossterm::terminal::{EnterAlternateScreen, enable_raw_mode, is_raw_mode_enabled, size};
use ratatui::{DefaultTerminal, Terminal};
use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM, SIGTSTP};
use signal_hook::iterator::Signals;

use crate::drill::Command;
use crate::tui::model::{PressedKey, ScreenEvent};

/// Longest time until the keyboard's thread notices that it is no longer wanted.
const LOOK: Duration = Duration::from_millis(100);
/// Largest number of keys that wait for the screen.
const WAITING: usize = 64;

/// Number of columns of the terminal that standard output is; `None` where it is no terminal.
#[must_use]
pub fn columns() -> Option<usize> {
    if !io::stdout().is_terminal() {
        return None;
    }
    // A terminal that does not tell its size is taken to have 80 columns.
    Some(size().ok().filter(|(columns, _)| *columns > 0).map_or(80, |(columns, _)| usize::from(columns)))
}

/// Number of columns of the terminal that standard error is; `None` where it is no terminal.
#[must_use]
pub fn error_columns() -> Option<usize> {
    let told = || size().ok().filter(|(columns, _)| *columns > 0).map_or(80, |(columns, _)| usize::from(columns));
    io::stderr().is_terminal().then(told)
}

/// The terminal, taken over; it is given back when this is dropped, also after a panic in any thread.
pub struct Screen {
    /// The terminal to draw on.
    ///
    /// It is never dropped: once the terminal has hung up, dropping it would print to a stream that is gone, and panic.
    pub terminal: ManuallyDrop<DefaultTerminal>,
    signals: Signals,
    keys: Receiver<ScreenEvent>,
    wanted: Arc<AtomicBool>,
}

impl Screen {
    /// Takes the terminal over.
    ///
    /// # Errors
    /// When standard output is no terminal or will not be put into raw mode, or the system gives us no signals or no thread.
    pub fn open() -> io::Result<Self> {
        if !io::stdout().is_terminal() {
            return Err(io::Error::new(io::ErrorKind::Unsupported, "standard output is not a terminal"));
        }
        let signals = Signals::new([SIGTERM, SIGHUP, SIGINT])?;
        let terminal = ManuallyDrop::new(take_over()?);
        let (tell, keys) = bounded(WAITING);
        let wanted = Arc::new(AtomicBool::new(true));
        let still = Arc::clone(&wanted);
        // The keyboard has a thread of its own that is never waited for: reading from a terminal that has hung up may not return.
        thread::Builder::new().name("keyboard".to_owned()).spawn(move || {
            while still.load(Ordering::Relaxed) {
                match event::poll(LOOK).and_then(|there| if there { event::read().map(Some) } else { Ok(None) }) {
                    Ok(None) => {}
                    Ok(Some(event)) => {
                        if message(&event).is_some_and(|msg| tell.send(msg).is_err()) {
                            return;
                        }
                    }
                    Err(_) => return,
                }
            }
        })?;
        Ok(Self { terminal, signals, keys, wanted })
    }

    /// Gives the terminal back and stops the program until it is called to the foreground; then takes the terminal over again.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub fn suspend(&mut self) -> io::Result<()> {
        give_back();
        signal_hook::low_level::raise(SIGTSTP)?;
        enable_raw_mode()?;
        execute!(io::stdout(), EnterAlternateScreen)?;
        // A cleared screen, and buffers that know it; `Terminal::clear` would ask where the cursor stands, which not every
        // terminal answers.
        self.terminal.backend_mut().clear()?;
        self.terminal.swap_buffers();
        Ok(())
    }

    /// What was pressed or asked for, waiting at most `wait`. A keyboard that is gone asks to end.
    pub fn next(&mut self, wait: Duration) -> Option<ScreenEvent> {
        if self.signals.pending().next().is_some() {
            return Some(ScreenEvent::Quit);
        }
        match self.keys.recv_timeout(wait) {
            Ok(msg) => Some(msg),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => {
                thread::sleep(wait);
                Some(ScreenEvent::Quit)
            }
        }
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        self.wanted.store(false, Ordering::Relaxed);
        // A frame drawn after a panic hid the cursor again.
        let _ = execute!(io::stdout(), Show);
        // After a panic the terminal was given back already; doing so again would put the cursor back where the message stands.
        if is_raw_mode_enabled().unwrap_or(true) {
            give_back();
        }
    }
}

/// Whether the terminal was ever taken over.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// Lets a panic give the terminal back, if it was ever taken over, before its message is printed. Only the first call does anything.
pub fn give_back_on_panic() {
    static HOOKED: Once = Once::new();
    HOOKED.call_once(|| {
        let earlier = panic::take_hook();
        panic::set_hook(Box::new(move |why| {
            if TAKEN.load(Ordering::Relaxed) {
                give_back();
            }
            earlier(why);
        }));
    });
}

/// Takes the terminal over.
fn take_over() -> io::Result<DefaultTerminal> {
    TAKEN.store(true, Ordering::Relaxed);
    give_back_on_panic();
    enable_raw_mode()?;
    let taken = execute!(io::stdout(), EnterAlternateScreen);
    taken.and_then(|()| Terminal::new(CrosstermBackend::new(io::stdout()))).inspect_err(|_| give_back())
}

/// Gives the terminal back. Errors are passed over: a terminal that has hung up needs nothing back.
fn give_back() {
    let _ = execute!(io::stdout(), Show);
    let _ = ratatui::try_restore();
}

fn message(event: &Event) -> Option<ScreenEvent> {
    match event {
        Event::Key(key) if key.is_press() => pressed(*key).map(ScreenEvent::Key),
        Event::Resize(..) => Some(ScreenEvent::Resized),
        _ => None,
    }
}

fn pressed(key: KeyEvent) -> Option<PressedKey> {
    if key.modifiers.contains(KeyModifiers::CONTROL) && key.code == KeyCode::Char('c') {
        return Some(PressedKey::Asks(Command::End));
    }
    if key.modifiers.contains(KeyModifiers::CONTROL) && key.code == KeyCode::Char('z') {
        return Some(PressedKey::Suspend);
    }
    match key.code {
        KeyCode::Char(' ') | KeyCode::PageDown => Some(PressedKey::Asks(Command::Pause)),
        KeyCode::Char('r') => Some(PressedKey::Asks(Command::Again)),
        KeyCode::PageUp => Some(PressedKey::PageUp),
        KeyCode::Char('m') => Some(PressedKey::Asks(Command::Misheard)),
        KeyCode::Char('s') => Some(PressedKey::Asks(Command::Slower)),
        KeyCode::Char('n') => Some(PressedKey::Asks(Command::Another)),
        KeyCode::Char('o') => Some(PressedKey::Asks(Command::PlayBack)),
        KeyCode::Char('q') | KeyCode::Esc => Some(PressedKey::Asks(Command::End)),
        KeyCode::Char(digit @ '0'..='9') => digit.to_digit(10).map(|count| PressedKey::Asks(Command::Count(count))),
        KeyCode::Char('?') => Some(PressedKey::Help),
        _ => Some(PressedKey::Other),
    }
}

/// Whether the last [`Interrupts`] was dropped, so that a signal ends the program in the system's own way.
static UNHEEDED: LazyLock<Arc<AtomicBool>> = LazyLock::new(Arc::default);

/// The wish to end, from outside: control-c, or the system. Its owner looks at it again and again; when it is dropped, a signal ends the
/// program as it would without us. Only one is in use at a time.
#[derive(Debug)]
pub struct Interrupts(Arc<AtomicBool>);

impl Interrupts {
    /// Whether the end was asked for.
    #[must_use]
    pub fn raised(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

impl Drop for Interrupts {
    fn drop(&mut self) {
        UNHEEDED.store(true, Ordering::SeqCst);
    }
}

/// Listens, where no screen does, for control-c and for the system's wish to end the program.
///
/// # Errors
/// When the system does not let us listen.
pub fn interrupts() -> io::Result<Interrupts> {
    let flag = Arc::default();
    for signal in [SIGTERM, SIGHUP, SIGINT] {
        // Once a handler of ours is registered, the system's own does not come back by itself.
        signal_hook::flag::register_conditional_default(signal, Arc::clone(&UNHEEDED))?;
        signal_hook::flag::register(signal, Arc::clone(&flag))?;
    }
    UNHEEDED.store(false, Ordering::SeqCst);
    Ok(Interrupts(flag))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_turn_pedal_speaks_as_the_keys_for_the_next_page_and_the_one_before() {
        let key = |code| pressed(KeyEvent::new(code, KeyModifiers::NONE));
        assert_eq!(key(KeyCode::PageDown), Some(PressedKey::Asks(Command::Pause)));
        assert_eq!(key(KeyCode::PageUp), Some(PressedKey::PageUp));
        assert_eq!(key(KeyCode::Right), Some(PressedKey::Other));
    }
}
