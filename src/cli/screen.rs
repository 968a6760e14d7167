//! A running drill and what shows it: the practice room on a terminal, or plain lines.

use std::io::IsTerminal;
use std::thread;

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};

use crate::cli::failure::Failure;
use crate::cli::keep::{Ending, keep};
use crate::cli::say;
use crate::drill::{Command, Snapshot};
use crate::engine::Out;
use crate::files::{KeepSound, SessionFolder};
use crate::tui::{self, Look, Plain, Screen, Shown};

/// Commands that may wait for the drill; more are dropped, for nobody presses that fast.
const COMMANDS: usize = 32;

/// How a sitting is shown.
#[derive(Debug, Clone)]
pub struct Showing {
    /// Names and pitch.
    pub look: Look,
    /// One line an event.
    pub plain: bool,
    /// Ends after so many answers.
    pub answers: Option<u32>,
}

/// Runs a sitting: `hear` on a thread of its own, the record on another, the screen here.
pub fn run(
    showing: Showing,
    folder: SessionFolder,
    sounds: KeepSound,
    hear: impl FnOnce(&Receiver<Command>, &mut dyn FnMut(Out)) + Send + 'static,
) -> Result<Ending, Failure> {
    let (shown_in, shown) = unbounded();
    let (command_in, commands) = bounded(COMMANDS);
    let (kept_in, kept) = unbounded();
    let (notices, end, stop, most) = (shown_in.clone(), command_in.clone(), command_in.clone(), showing.answers);
    let hearing = thread::Builder::new()
        .name("hearing".to_owned())
        .spawn(move || {
            hear(&commands, &mut |out| match out {
                Out::Show(snapshot) => {
                    if most.is_some_and(|most| snapshot.answers >= most) {
                        let _ = end.try_send(Command::End);
                    }
                    let _ = shown_in.send(Shown::Snapshot(snapshot));
                }
                Out::Keep(event, sound) => {
                    let _ = kept_in.send((*event, sound));
                }
            });
        })
        .map_err(|error| Failure::device(error, "Close other programs."))?;
    let keeping = thread::Builder::new()
        .name("record".to_owned())
        .spawn(move || keep(folder, sounds, &kept, &notices))
        .map_err(|error| Failure::device(error, "Close other programs."))?;
    let plain = showing.plain || !std::io::stdout().is_terminal();
    let seen = if plain { lines(showing.look, &shown, &command_in) } else { room(showing.look, &shown, &command_in) };
    // Whatever the screen came to, the record is finished.
    let _ = stop.try_send(Command::End);
    let broke = hearing.join().is_err();
    let ending = keeping.join().map_err(|_| Failure::device("the record broke off", "Please report it."))?;
    seen?;
    if broke {
        return Err(Failure::device(
            "the drill broke off",
            "What was played is kept; please report how it came to this.",
        ));
    }
    Ok(ending)
}

/// The practice room.
fn room(look: Look, shown: &Receiver<Shown>, commands: &Sender<Command>) -> Result<(), Failure> {
    let wrong = |error: std::io::Error| Failure::device(error, "Try --plain.");
    let hushed = super::drill::quiet();
    let mut screen = Screen::open().map_err(wrong)?;
    let left = tui::run(&mut screen, look, shown, commands);
    drop(screen);
    drop(hushed);
    left.map_err(wrong)
}

/// Plain lines; control-c ends the sitting as `q` does.
fn lines(look: Look, shown: &Receiver<Shown>, commands: &Sender<Command>) -> Result<(), Failure> {
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let mut plain = Plain::new(look);
    loop {
        let next = shown.recv_timeout(std::time::Duration::from_millis(100));
        if asked.raised() {
            let _ = commands.try_send(Command::End);
        }
        match next {
            Ok(Shown::Snapshot(snapshot)) => told(&mut plain, &snapshot)?,
            Ok(Shown::Notice(notice)) => eprintln!("earfirst: {notice}"),
            Err(crossbeam_channel::RecvTimeoutError::Timeout) => {}
            Err(crossbeam_channel::RecvTimeoutError::Disconnected) => return Ok(()),
        }
    }
}

fn told(plain: &mut Plain, snapshot: &Snapshot) -> Result<(), Failure> {
    plain.lines(snapshot).into_iter().try_for_each(say)
}

/// Says where the sitting is kept; offers another place when the disk refused it.
pub fn farewell(ending: Ending) -> Result<(), Failure> {
    match ending {
        Ending::Nothing => Ok(()),
        Ending::Stored(path) => {
            say(format!("kept in {}", path.display()))?;
            say(format!("review it with: earfirst review {}", path.display()))
        }
        Ending::Held(mut folder, failure) => {
            eprintln!("earfirst: {failure}");
            while std::io::stdin().is_terminal() {
                eprint!("Another folder to keep this sitting in (an empty line gives it up): ");
                let mut typed = String::new();
                if std::io::stdin().read_line(&mut typed).is_err() || typed.trim().is_empty() {
                    break;
                }
                match folder.finish_at(std::path::Path::new(typed.trim()), &super::keep::review) {
                    Ok(Some(path)) => return say(format!("kept in {}", path.display())),
                    Ok(None) => return Ok(()),
                    Err(failure) => eprintln!("earfirst: {failure}"),
                }
            }
            Err(failure)
        }
    }
}
