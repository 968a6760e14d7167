use std::io;
use std::time::Duration;

use crate::drill::Command;
use crate::tui::model::{Appearance, PressedKey, ScreenEvent};
use crate::tui::terminal::Screen;
use crate::tui::view;

/// What stands on the screen while a form is traded: the place in the form, the chords, and what is said of answers that are over;
/// never a note of what sounds or is to be played.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TradeFace {
    /// The form and its tempo.
    pub title: String,
    /// The chorus, its key, and the bar.
    pub place: String,
    /// What the player is to do.
    pub word: &'static str,
    /// The chord that sounds.
    pub now: String,
    /// The chord that comes.
    pub next: String,
    /// What is said of the chorus before, one paragraph for each answer.
    pub lines: Vec<String>,
}

/// The terminal while a form is traded; it is given back when this is dropped.
pub struct TradeScreen {
    screen: Screen,
    look: Appearance,
    face: TradeFace,
}

impl TradeScreen {
    /// Takes the terminal over.
    ///
    /// # Errors
    /// When standard output is no terminal or will not be put into raw mode, or the system gives us no signals or no thread.
    pub fn open(look: Appearance) -> io::Result<Self> {
        Ok(Self { screen: Screen::open()?, look, face: TradeFace::default() })
    }
    /// Shows something new.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub fn show(&mut self, face: TradeFace) -> io::Result<()> {
        if face != self.face {
            self.face = face;
            self.draw()?;
        }
        Ok(())
    }
    /// Whether the player wants to end; a window of another size is drawn anew.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub fn asks_to_end(&mut self) -> io::Result<bool> {
        match self.screen.next(Duration::ZERO) {
            Some(ScreenEvent::Quit | ScreenEvent::Key(PressedKey::Asks(Command::End))) => return Ok(true),
            Some(ScreenEvent::Key(PressedKey::Suspend)) => self.screen.suspend()?,
            Some(ScreenEvent::Resized) => {}
            _ => return Ok(false),
        }
        self.draw()?;
        Ok(false)
    }
    fn draw(&mut self) -> io::Result<()> {
        let Self { screen, look, face } = self;
        screen.terminal.draw(|frame| view::draw_trade(frame, look, face)).map(drop)
    }
}
