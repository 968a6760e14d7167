//! The terminal: one model, one message type, `update`, and `view` by screen; or plain lines where there is no screen.
//!
//! A screen is a function of the drill's snapshot and the view's own state, so each can be tested without sound. At most 30
//! frames a second are drawn, and only when something changed.

mod findings;
mod model;
mod plain;
mod terminal;
mod view;

use std::io;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, TryRecvError};

use crate::drill::{Command, Snapshot};

pub use findings::three;
pub use model::{Appearance, Model, Msg, Pressed, Wish};
pub use plain::Plain;
pub use terminal::{Interrupts, Screen, columns, interrupts};
pub use view::draw;

/// At most 30 frames a second.
const FRAME: Duration = Duration::from_millis(34);

/// What reaches the screen from the threads behind it.
#[derive(Debug, Clone)]
pub enum Shown {
    /// The drill's state.
    Snapshot(Box<Snapshot>),
    /// Something to be told at the foot of the screen.
    Notice(String),
    /// The record is finished, and lies there.
    Kept(PathBuf),
}

/// Shows the practice room until the sitting is over and left, or whoever feeds it is gone.
///
/// # Errors
/// When the terminal is gone.
pub fn run(
    screen: &mut Screen,
    look: Appearance,
    shown: &Receiver<Shown>,
    commands: &Sender<Command>,
) -> io::Result<()> {
    let mut model = Model::new(look);
    let mut changed = true;
    let mut drawn: Option<Instant> = None;
    let mut quitting = false;
    loop {
        loop {
            match shown.try_recv() {
                Ok(Shown::Snapshot(snapshot)) => changed |= model.update(Msg::Shown(snapshot)).is_none(),
                Ok(Shown::Notice(notice)) => changed |= model.update(Msg::Notice(notice)).is_none(),
                Ok(Shown::Kept(path)) => changed |= model.update(Msg::Kept(path)).is_none(),
                Err(TryRecvError::Empty) => break,
                Err(TryRecvError::Disconnected) if model.over() => break,
                Err(TryRecvError::Disconnected) => return Ok(()),
            }
        }
        if quitting && model.over() {
            return Ok(());
        }
        if changed && drawn.is_none_or(|drawn| drawn.elapsed() >= FRAME) {
            screen.terminal.draw(|frame| view::draw(frame, &model))?;
            (changed, drawn) = (false, Some(Instant::now()));
        }
        let Some(msg) = screen.next(FRAME) else { continue };
        quitting |= matches!(msg, Msg::Quit);
        changed = true;
        let wish = model.update(msg);
        match wish {
            Some(Wish::Leave) => return Ok(()),
            Some(Wish::Suspend) => suspend(screen, &model, commands)?,
            Some(Wish::Tell(_)) | None => {}
        }
        // A full channel means that the drill has stopped listening: there is nobody left to end.
        let untold = matches!(wish, Some(Wish::Tell(command)) if commands.try_send(command).is_err());
        if untold && quitting {
            return Ok(());
        }
    }
}

/// Stops the program at the shell's wish; the drill pauses before, so that nobody is asked meanwhile.
fn suspend(screen: &mut Screen, model: &Model, commands: &Sender<Command>) -> io::Result<()> {
    if !model.waits() {
        // A full channel means that the drill has stopped listening.
        let _ = commands.try_send(Command::Pause);
    }
    screen.suspend()
}
