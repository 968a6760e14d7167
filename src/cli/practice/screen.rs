//! A running drill and what shows it: the practice room on a terminal, or plain lines.

use std::io::IsTerminal;
use std::thread;

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};

use crate::cli::failure::Failure;
use crate::cli::output::reaches;
use crate::cli::output::{say, warn};
use crate::cli::practice::another_place;
use crate::cli::practice::drill;
use crate::cli::practice::gate::{self, Written};
use crate::cli::practice::keep::{Ending, Kept, keep};
use crate::devices::DeviceError as NoSound;
use crate::drill::{Command, Snapshot};
use crate::engine::{Hearing, Out, Running, Sound};
use crate::files::{KeepSound, LossCounts, SessionFolder};
use crate::tui::{self, Appearance, Interrupts, Plain, Screen, ScreenEvent};
use crate::units::{Decibels, Hertz};

/// Commands that may wait for the drill; more are dropped, for nobody presses that fast.
const COMMANDS: usize = 32;

/// How a sitting is shown.
#[derive(Debug, Clone)]
pub struct Showing {
    /// Names and pitch.
    pub look: Appearance,
    /// One line an event.
    pub plain: bool,
    /// Ends after so many answers.
    pub answers: Option<u32>,
}

/// A sitting that can begin.
pub struct Ready {
    /// Where it is kept.
    pub folder: SessionFolder,
    /// Ear, echo and drill.
    pub hearing: Hearing,
    /// Devices, or the simulated player.
    pub sound: Box<dyn Sound>,
    /// The reference of the cues.
    pub a4: Hertz,
    /// Cues sound an octave up.
    pub octave_up: bool,
    /// Told at the end how loud the cues were that were answered.
    pub keep_level: Box<dyn FnOnce(Decibels) + Send>,
}

/// Runs a sitting: `begin` and the drill on a thread of its own, the record on another, the screen here, which
/// stands before `begin` is done.
pub fn run(
    showing: Showing,
    sounds: KeepSound,
    begin: impl FnOnce() -> Result<Ready, NoSound> + Send + 'static,
) -> Result<Ending, Failure> {
    // Looked at until the record is finished: a window that closes may ask twice.
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let (shown_in, shown) = unbounded();
    let (state_in, states) = unbounded();
    let (command_in, commands) = bounded(COMMANDS);
    let (folder_in, folder) = bounded(1);
    let (kept_in, kept) = unbounded();
    let (notices, end, stop, most) = (shown_in.clone(), command_in.clone(), command_in.clone(), showing.answers);
    let hearing = spawned("hearing", move || {
        let Ready { folder, hearing, mut sound, a4, octave_up, keep_level } = begin()?;
        let _ = folder_in.send(folder);
        let mut handed = 0;
        let mut hand = |kept| {
            handed += 1;
            let _ = kept_in.send(kept);
            handed
        };
        let mut mark = 0;
        let mut out = |out| match out {
            Out::Show(snapshot) => {
                if most.is_some_and(|most| snapshot.answers >= most) {
                    let _ = end.try_send(Command::End);
                }
                let _ = state_in.send((snapshot, mark));
            }
            Out::Draft(events) => mark = hand(Kept::Draft(events)),
            Out::Keep(event, sound) => mark = hand(Kept::Event(event, sound)),
        };
        let heard = Running::new(hearing, &mut *sound, &commands, a4, &mut out).octave_up(octave_up).run();
        if let Some(level) = heard.drill().answered_at() {
            keep_level(level);
        }
        Ok(())
    })?;
    let written = Written::default();
    let passed = written.clone();
    let passing = spawned("gate", move || gate::pass(&states, &passed, &shown_in))?;
    let keeping = spawned("record", move || {
        // No folder came: there was no sound, and nothing to keep.
        folder.recv().map_or(Ending::Nothing, |folder| keep(folder, sounds, &kept, &written, &notices))
    })?;
    let plain = showing.plain || !std::io::stdout().is_terminal();
    let seen =
        if plain { lines(showing.look, &asked, &shown, &command_in) } else { room(showing.look, &shown, &command_in) };
    // Whatever the screen came to, the record is finished.
    let _ = stop.try_send(Command::End);
    let heard = hearing.join();
    let _ = passing.join();
    let ending = keeping.join().map_err(|_| Failure::device("the record broke off", "Please report it."))?;
    let broke = match heard {
        Ok(Ok(())) => None,
        Ok(Err(no_sound)) => return seen.map(|()| Ending::NoSound(no_sound)),
        Err(_) => {
            Some(Failure::device("the drill broke off", "What was played is kept; please report how it came to this."))
        }
    };
    match seen.err().or(broke) {
        None => Ok(ending),
        // Where it is kept is told all the same, and one that is in memory yet is kept somewhere.
        Some(failure) => farewell(ending).and(Err(failure)),
    }
}

fn spawned<T: Send + 'static>(
    name: &str,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<thread::JoinHandle<T>, Failure> {
    let spawned = thread::Builder::new().name(name.to_owned()).spawn(work);
    spawned.map_err(|error| Failure::device(error, "Close other programs."))
}

/// The practice room.
fn room(look: Appearance, shown: &Receiver<ScreenEvent>, commands: &Sender<Command>) -> Result<(), Failure> {
    let wrong = |error: std::io::Error| Failure::device(error, "Try --plain.");
    let hushed = drill::quiet();
    let mut screen = Screen::open().map_err(wrong)?;
    let left = tui::run(&mut screen, look, shown, commands);
    drop(screen);
    drop(hushed);
    left.map_err(wrong)
}

/// Plain lines; control-c ends the sitting as `q` does.
fn lines(
    look: Appearance,
    asked: &Interrupts,
    shown: &Receiver<ScreenEvent>,
    commands: &Sender<Command>,
) -> Result<(), Failure> {
    let mut plain = Plain::new(look);
    loop {
        let next = shown.recv_timeout(std::time::Duration::from_millis(100));
        if asked.raised() {
            let _ = commands.try_send(Command::End);
        }
        match next {
            // Nobody reads any more: the sitting is over, and kept.
            Ok(ScreenEvent::Snapshot(snapshot)) if !told(&mut plain, &snapshot)? => return Ok(()),
            Ok(ScreenEvent::Notice(notice)) => warn(notice),
            // The rest is for a screen.
            Ok(_) => {}
            Err(crossbeam_channel::RecvTimeoutError::Timeout) => {}
            Err(crossbeam_channel::RecvTimeoutError::Disconnected) => return Ok(()),
        }
    }
}

/// Whether the lines that were told have a reader.
fn told(plain: &mut Plain, snapshot: &Snapshot) -> Result<bool, Failure> {
    plain.lines(snapshot).into_iter().try_fold(true, |read, line| Ok(reaches(line)? && read))
}

/// Says where the sitting is kept; offers another place when the disk refused it.
pub fn farewell(ending: Ending) -> Result<(), Failure> {
    match ending {
        Ending::Nothing => Ok(()),
        Ending::NoSound(failure) => {
            Err(Failure::device(failure, "earfirst devices lists what is there; earfirst demo needs no device."))
        }
        Ending::Stored(path, lost) => {
            told_lost(lost);
            say(format!("kept in {}", path.display()))?;
            say(format!("review it with: earfirst review {}", path.display()))
        }
        Ending::Held(mut folder, failure) => {
            told_lost(folder.lost());
            another_place::keep(&mut folder, failure)
        }
    }
}

/// What did not fit into memory while the disk took nothing.
fn told_lost(lost: LossCounts) {
    if lost.sounds + lost.events > 0 {
        warn(format!("memory was full too: the sound of {} answers and {} events are lost", lost.sounds, lost.events));
    }
}
