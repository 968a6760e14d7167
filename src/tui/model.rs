use std::path::PathBuf;

use crate::drill::{Command, Face, Snapshot, ToScreen};
use crate::words::Page;

/// How things are shown on the screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Appearance {
    /// The player's page: names and units.
    pub page: Page,
    /// The player's range on the page, "D4 to C6", where it is known.
    pub range: Option<String>,
    /// Today, in days since 1970-01-01, where days of the week may be named.
    pub today: Option<i32>,
    /// Whether colour may repeat what text says.
    pub colour: bool,
}

/// What comes to the screen, from the drill, the record, the keyboard or the terminal.
#[derive(Debug, Clone, PartialEq)]
pub enum ScreenEvent {
    /// Something came from the threads behind the screen.
    Shown(ToScreen),
    /// A key was pressed.
    Key(PressedKey),
    /// The terminal changed its size.
    Resized,
    /// The program is asked to end.
    Quit,
}

/// The keys that mean something; a page pedal sends page-down and page-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PressedKey {
    /// A key that stands for one command: `space` and page-down, `r`, `m`, `s`, `n`, `o`, a digit; `q`, escape and control-c.
    Asks(Command),
    /// Page-up: the same cue again; on a verdict that the player keeps: it was misheard.
    PageUp,
    /// `?`: opens the page of keys.
    Help,
    /// Control-z: the shell wants its terminal back.
    Suspend,
    /// Any other key: it only leaves the last screen and the page of keys.
    Other,
}

/// What the screen wants done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScreenRequest {
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
    /// Whether the page of keys is open.
    pub help: bool,
    /// A sentence at the foot of the screen, where there is one.
    pub notice: Option<String>,
    /// Where the finished record lies, once it is kept.
    pub kept: Option<PathBuf>,
    /// Whether the end was asked for; when it is asked for again, the screen is left at once.
    pub ending: bool,
}

impl Model {
    /// A screen that was shown nothing yet.
    #[must_use]
    pub const fn new(look: Appearance) -> Self {
        Self { look, snapshot: None, help: false, notice: None, kept: None, ending: false }
    }

    /// Takes one message in; gives what is to be done.
    pub fn update(&mut self, msg: ScreenEvent) -> Option<ScreenRequest> {
        match msg {
            ScreenEvent::Shown(ToScreen::Snapshot(snapshot)) => self.snapshot = Some(snapshot),
            ScreenEvent::Shown(ToScreen::Notice(notice)) => self.notice = Some(notice),
            ScreenEvent::Shown(ToScreen::Kept(path)) => self.kept = Some(path),
            ScreenEvent::Resized => {}
            ScreenEvent::Quit => return Some(ScreenRequest::Tell(Command::End)),
            ScreenEvent::Key(pressed) => return self.press(pressed),
        }
        None
    }

    fn press(&mut self, pressed: PressedKey) -> Option<ScreenRequest> {
        let over = self.over();
        if pressed == PressedKey::Suspend {
            return Some(ScreenRequest::Suspend);
        }
        if self.help {
            self.help = false;
            let ends = pressed == PressedKey::Asks(Command::End);
            self.ending |= ends;
            return ends.then_some(ScreenRequest::Tell(Command::End));
        }
        match pressed {
            PressedKey::Help => {
                self.help = true;
                None
            }
            _ if over => Some(ScreenRequest::Leave),
            PressedKey::PageUp if self.verdict_stays() => Some(ScreenRequest::Tell(Command::Misheard)),
            PressedKey::PageUp => Some(ScreenRequest::Tell(Command::Again)),
            PressedKey::Asks(Command::End) if self.ending => Some(ScreenRequest::Leave),
            PressedKey::Asks(command) => {
                self.ending |= command == Command::End;
                Some(ScreenRequest::Tell(command))
            }
            PressedKey::Other | PressedKey::Suspend => None,
        }
    }

    /// Whether the drill needs no pause: it is paused already, keeps a verdict or a round's result on the screen, is over, or has shown
    /// nothing yet. Where it keeps one, another pause would let it go, and the next cue would sound.
    #[must_use]
    pub fn waits(&self) -> bool {
        let face = self.snapshot.as_ref().map(|snapshot| snapshot.face);
        let stays = matches!(face, Some(Face::Verdict { stays: true, .. } | Face::RoundOver { stays: true }));
        stays || matches!(face, None | Some(Face::Paused { .. } | Face::Over))
    }

    /// Whether the player keeps a verdict on the screen.
    fn verdict_stays(&self) -> bool {
        self.snapshot.as_ref().is_some_and(|snapshot| matches!(snapshot.face, Face::Verdict { stays: true, .. }))
    }

    /// Whether the sitting is over.
    #[must_use]
    pub fn over(&self) -> bool {
        self.snapshot.as_ref().is_some_and(|snapshot| snapshot.face == Face::Over)
    }
}
