use std::path::PathBuf;

use crate::drill::{Command, Face, Snapshot};
use crate::words::Page;

/// How things are put on the screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Appearance {
    /// The player's page: names and units.
    pub page: Page,
    /// Today, in days since 1970-01-01, so that days of the week can be named.
    pub today: Option<i32>,
    /// Colour may repeat what text says.
    pub colour: bool,
}

/// What the screen is told.
#[derive(Debug, Clone, PartialEq)]
pub enum Msg {
    /// The drill shows this.
    Shown(Box<Snapshot>),
    /// A key was pressed.
    Key(Pressed),
    /// The terminal changed its size.
    Resized,
    /// The program is asked to end.
    Quit,
    /// Something to be told at the foot of the screen.
    Notice(String),
    /// The record is finished, and lies there.
    Kept(PathBuf),
}

/// The keys that mean something; a page pedal sends page-down and page-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pressed {
    /// `space`, page-down.
    Pause,
    /// `r`.
    Again,
    /// page-up: again, or on a held verdict misheard.
    PageUp,
    /// `m`.
    Misheard,
    /// `s`.
    Slower,
    /// `n`.
    Another,
    /// `o`.
    PlayBack,
    /// `q`, escape, control-c.
    End,
    /// `?`.
    Help,
    /// Control-z: the shell wants its terminal back.
    Suspend,
    /// Any other key: it only leaves the last screen and the page of keys.
    Other,
}

/// What the screen wants done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wish {
    /// Tell the drill.
    Tell(Command),
    /// Leave the screen.
    Leave,
    /// Give the terminal back until the program is called to the foreground.
    Suspend,
}

/// View state: the drill's own state arrives whole, as a snapshot.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// How things are shown.
    pub look: Appearance,
    /// What the drill last showed.
    pub snapshot: Option<Box<Snapshot>>,
    /// The page of keys is open.
    pub help: bool,
    /// A sentence at the foot of the screen.
    pub notice: Option<String>,
    /// Where the finished record lies.
    pub kept: Option<PathBuf>,
    /// The end was asked for: asked for again, the screen is left at once.
    pub ending: bool,
}

impl Model {
    /// A screen that was shown nothing yet.
    #[must_use]
    pub const fn new(look: Appearance) -> Self {
        Self { look, snapshot: None, help: false, notice: None, kept: None, ending: false }
    }

    /// Takes one message in; says what is to be done.
    pub fn update(&mut self, msg: Msg) -> Option<Wish> {
        match msg {
            Msg::Shown(snapshot) => self.snapshot = Some(snapshot),
            Msg::Resized => {}
            Msg::Quit => return Some(Wish::Tell(Command::End)),
            Msg::Notice(notice) => self.notice = Some(notice),
            Msg::Kept(path) => self.kept = Some(path),
            Msg::Key(pressed) => return self.press(pressed),
        }
        None
    }

    fn press(&mut self, pressed: Pressed) -> Option<Wish> {
        let over = self.over();
        if pressed == Pressed::Suspend {
            return Some(Wish::Suspend);
        }
        if self.help {
            self.help = false;
            return (pressed == Pressed::End).then_some(Wish::Tell(Command::End));
        }
        match pressed {
            Pressed::Help => {
                self.help = true;
                None
            }
            _ if over => Some(Wish::Leave),
            Pressed::Pause => Some(Wish::Tell(Command::Pause)),
            Pressed::Again => Some(Wish::Tell(Command::Again)),
            Pressed::PageUp if self.holds() => Some(Wish::Tell(Command::Misheard)),
            Pressed::PageUp => Some(Wish::Tell(Command::Again)),
            Pressed::Misheard => Some(Wish::Tell(Command::Misheard)),
            Pressed::Slower => Some(Wish::Tell(Command::Slower)),
            Pressed::Another => Some(Wish::Tell(Command::Another)),
            Pressed::PlayBack => Some(Wish::Tell(Command::PlayBack)),
            Pressed::End if self.ending => Some(Wish::Leave),
            Pressed::End => {
                self.ending = true;
                Some(Wish::Tell(Command::End))
            }
            Pressed::Other | Pressed::Suspend => None,
        }
    }

    /// The drill waits already, or has nothing to wait for.
    #[must_use]
    pub fn waits(&self) -> bool {
        let face = self.snapshot.as_ref().map(|snapshot| snapshot.face);
        matches!(face, None | Some(Face::Paused { .. } | Face::Over))
    }

    /// A verdict is held.
    fn holds(&self) -> bool {
        self.snapshot.as_ref().is_some_and(|snapshot| matches!(snapshot.face, Face::Verdict { held: true, .. }))
    }

    /// The sitting is over.
    #[must_use]
    pub fn over(&self) -> bool {
        self.snapshot.as_ref().is_some_and(|snapshot| snapshot.face == Face::Over)
    }
}
