//! What shows a running sitting: the practice room on a terminal, or plain lines; and the farewell.

use std::io::IsTerminal;
use std::time::Duration;

use crossbeam_channel::RecvTimeoutError;

use crate::drill::{Command, Snapshot, ToScreen};
use crate::engine::{self, Finished, Keeping, PreparedSitting, RunningSitting, SittingEnd};
use crate::files::{KeepSound, LossCounts};
use crate::room::DeviceError as NoSound;
use crate::talk::another_place;
use crate::talk::failure::Failure;
use crate::talk::output::{reaches, say, say_later, warn};
use crate::talk::record_words::review;
use crate::tui::{self, Appearance, Interrupts, Plain, Screen};

/// How a sitting is shown.
#[derive(Debug, Clone)]
pub struct Showing {
    /// How names and pitches are shown.
    pub look: Appearance,
    /// Whether one line is printed for each event, instead of a screen.
    pub plain: bool,
    /// Number of answers after which the sitting ends; `None` for no such end.
    pub answers: Option<u32>,
}

/// Runs a sitting on threads of its own and shows it here; the screen stands before `begin` is done. It fails where the screen
/// fails or the drill breaks off, and the record is finished all the same; or where the record itself breaks off.
pub fn run(
    showing: Showing,
    sounds: KeepSound,
    begin: impl FnOnce() -> Result<PreparedSitting, NoSound> + Send + 'static,
) -> Result<SittingEnd, Failure> {
    // Signals to end are caught until the record is finished, because a window that closes may send two.
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let keeping = Keeping { sounds, review, answers: showing.answers };
    let practice =
        RunningSitting::start(keeping, begin).map_err(|error| Failure::device(error, "Close other programs."))?;
    let plain = showing.plain || !std::io::stdout().is_terminal();
    let seen = if plain { lines(showing.look, &asked, &practice) } else { room(showing.look, &practice) };
    let end = practice.finish();
    match (seen, end) {
        (Ok(()), SittingEnd::BrokeOff(finished)) => {
            let mend = "What was played is kept; please report how it came to this.";
            say_then(finished, Failure::device("the drill broke off", mend))
        }
        (Err(failure), SittingEnd::Finished(finished) | SittingEnd::BrokeOff(finished)) => say_then(finished, failure),
        (_, SittingEnd::RecordBroke) => Err(Failure::device("the record broke off", "Please report it.")),
        (seen, end) => seen.map(|()| end),
    }
}

/// Says where the record is kept although the screen or the drill failed; a record that is still in memory is kept somewhere first.
fn say_then(finished: Finished, failure: Failure) -> Result<SittingEnd, Failure> {
    farewell(SittingEnd::Finished(finished)).and(Err(failure))
}

/// Shows the practice room on a terminal.
fn room(look: Appearance, practice: &RunningSitting) -> Result<(), Failure> {
    let wrong = |error: std::io::Error| Failure::device(error, "Try --plain.");
    let quiet = engine::quiet();
    let mut screen = Screen::open().map_err(wrong)?;
    let left = tui::run(&mut screen, look, &practice.screen, &practice.commands);
    drop(screen);
    drop(quiet);
    left.map_err(wrong)
}

/// Prints plain lines; control-c ends the sitting as `q` does.
fn lines(look: Appearance, asked: &Interrupts, practice: &RunningSitting) -> Result<(), Failure> {
    let mut plain = Plain::new(look);
    loop {
        let next = practice.screen.recv_timeout(Duration::from_millis(100));
        if asked.raised() {
            let _ = practice.commands.try_send(Command::End);
        }
        match next {
            // Where the output has no reader any more, the sitting is over, and kept.
            Ok(ToScreen::Snapshot(snapshot)) if !print(&mut plain, &snapshot)? => return Ok(()),
            Ok(ToScreen::Snapshot(_) | ToScreen::Kept(_)) | Err(RecvTimeoutError::Timeout) => {}
            Ok(ToScreen::Notice(notice)) => warn(notice),
            Err(RecvTimeoutError::Disconnected) => return Ok(()),
        }
    }
}

/// Prints what a snapshot adds; gives whether the output has a reader.
fn print(plain: &mut Plain, snapshot: &Snapshot) -> Result<bool, Failure> {
    plain.lines(snapshot).into_iter().try_fold(true, |read, line| Ok(reaches(line)? && read))
}

/// Says where the sitting is kept; offers another place when the disk refused it.
pub fn farewell(end: SittingEnd) -> Result<(), Failure> {
    say_later()?;
    let finished = match end {
        SittingEnd::NoSound(failure) => {
            let mend = "earfirst devices lists what is there; earfirst demo needs no device.";
            return Err(Failure::device(failure, mend));
        }
        SittingEnd::RecordBroke => return Ok(()),
        SittingEnd::Finished(finished) | SittingEnd::BrokeOff(finished) => finished,
    };
    match finished {
        Finished::Nothing => Ok(()),
        Finished::Stored(path, lost) => {
            warn_of_loss(lost);
            say(format!("kept in {}", path.display()))?;
            say(format!("review it with: earfirst review {}", path.display()))
        }
        Finished::InMemory(mut folder, failure) => {
            warn_of_loss(folder.lost());
            another_place::keep(&mut folder, failure.into())
        }
    }
}

/// Warns of what no longer fitted into memory.
fn warn_of_loss(lost: LossCounts) {
    if lost.sounds + lost.events > 0 {
        warn(format!("memory was full too: the sound of {} answers and {} events are lost", lost.sounds, lost.events));
    }
}
