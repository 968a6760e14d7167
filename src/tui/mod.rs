//! The terminal: one model, one message type, `update`, and `view` by screen; or plain lines where there is no screen.
//!
//! A screen is a function of the drill's snapshot and the view's own state, so each can be tested without sound. At most 30
//! frames a second are drawn, and only when something changed.
//!
//! To change it: a screen is a `Face` in `drill/snapshot.rs`, made in `drill/showing.rs`; a file in `view/`, its arm and keys in
//! `view/mod.rs`; a line in `plain.rs`; a picture in `tests/program/screens.rs`. A new key: `pressed` in `terminal.rs`
//! (`model.rs` where it is no command), a `Command` in `drill/signal.rs`, its arm in `drill/conductor.rs`.

mod model;
mod plain;
mod summary;
mod terminal;
mod trading;
mod view;

use std::io;
use std::time::{Duration, Instant};

use crossbeam_channel::{Receiver, Sender, TryRecvError};

use crate::drill::{Command, ToScreen};

pub use model::{Appearance, Model, PressedKey, ScreenEvent, ScreenRequest};
pub use plain::Plain;
pub use summary::three;
pub use terminal::{Interrupts, Screen, columns, error_columns, give_back_on_panic, interrupts};
pub use trading::{TradeFace, TradeScreen};
pub use view::draw;

/// Shortest time between two drawn frames: at most 30 frames a second are drawn.
const FRAME: Duration = Duration::from_millis(34);

/// Shows the practice room until the sitting is over and the player leaves the screen (where a signal ended the sitting, until it is
/// over), until the player asks a second time to end, or until the thread that sends snapshots is gone before the sitting is over.
///
/// # Errors
/// When the terminal is gone.
pub fn run(
    screen: &mut Screen,
    look: Appearance,
    shown: &Receiver<ToScreen>,
    commands: &Sender<Command>,
) -> io::Result<()> {
    let mut model = Model::new(look);
    let mut changed = true;
    let mut drawn: Option<Instant> = None;
    let mut quitting = false;
    loop {
        loop {
            match shown.try_recv() {
                Ok(shown) => changed |= model.update(ScreenEvent::Shown(shown)).is_none(),
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
        quitting |= matches!(msg, ScreenEvent::Quit);
        changed = true;
        let wish = model.update(msg);
        match wish {
            Some(ScreenRequest::Leave) => return Ok(()),
            Some(ScreenRequest::Suspend) => suspend(screen, &model, commands)?,
            Some(ScreenRequest::Tell(_)) | None => {}
        }
        // A channel that is full or closed means that the drill has stopped listening: there is no sitting left to end.
        let unsent = matches!(wish, Some(ScreenRequest::Tell(command)) if commands.try_send(command).is_err());
        if unsent && quitting {
            return Ok(());
        }
    }
}

/// Stops the program when the shell wants its terminal back; the drill is paused first, so that no cue sounds meanwhile.
fn suspend(screen: &mut Screen, model: &Model, commands: &Sender<Command>) -> io::Result<()> {
    if !model.waits() {
        // Where nothing can be sent, the drill has stopped listening, and needs no pause.
        let _ = commands.try_send(Command::Pause);
    }
    screen.suspend()
}
