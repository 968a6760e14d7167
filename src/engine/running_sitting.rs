//! A sitting on threads of its own: the loop that hears and conducts, the record, and between them and the screen the gate that
//! holds a state back until it is written, but not for long (`written_first.rs`).

use std::io;
use std::thread::{Builder, JoinHandle};

use crossbeam_channel::{Receiver, Sender, bounded, unbounded};

use crate::drill::{Command, Drill, ToScreen};
use crate::engine::drill_loop::{DrillLoop, Out};
use crate::engine::note_source::Rig;
use crate::engine::record_thread::{Finished, ReviewText, ToRecord, keep};
use crate::engine::written_first::{self, WrittenSoFar};
use crate::files::{KeepSound, SessionFolder};
use crate::room::DeviceError as NoSound;
use crate::units::{Decibels, Hertz};

/// Most commands that wait for the drill; more are dropped, because nobody presses keys that fast.
const COMMANDS: usize = 32;

/// A sitting that can begin.
pub struct PreparedSitting {
    /// Where the record is kept.
    pub folder: SessionFolder,
    /// The drill, which has not begun.
    pub drill: Drill,
    /// Where the notes come from and where the cues go.
    pub rig: Box<dyn Rig>,
    /// The pitch of A4 in the cues.
    pub a4: Hertz,
    /// Whether the cues sound an octave up.
    pub octave_up: bool,
    /// Told at the end how loud the cues were that were answered; not called where none was.
    pub keep_level: Box<dyn FnOnce(Decibels) + Send>,
}

/// How a sitting is kept and when it ends by itself.
#[derive(Debug, Clone, Copy)]
pub struct Keeping {
    /// Which sound of the answers is kept.
    pub sounds: KeepSound,
    /// The text that is packed with the record.
    pub review: ReviewText,
    /// Number of answers after which the sitting ends; `None` for no such end.
    pub answers: Option<u32>,
}

/// A sitting that runs.
pub struct RunningSitting {
    /// What the screen is to show, in order.
    pub screen: Receiver<ToScreen>,
    /// What the player asks for.
    pub commands: Sender<Command>,
    hearing: JoinHandle<Result<(), NoSound>>,
    gate: JoinHandle<()>,
    record: JoinHandle<Finished>,
}

/// How a sitting ended.
pub enum SittingEnd {
    /// The sitting came to its end; this is its record.
    Finished(Finished),
    /// Microphone, loudspeaker or MIDI instrument did not open, so nothing began.
    NoSound(NoSound),
    /// The drill broke off, which is a fault of the program; what was played until then is kept.
    BrokeOff(Finished),
    /// The record broke off, which is a fault of the program.
    RecordBroke,
}

impl RunningSitting {
    /// Begins a sitting: `begin` (which may take seconds to open devices) and the drill on a thread of its own, the record on
    /// another. The screen can stand before `begin` is done.
    ///
    /// # Errors
    /// When the system has no thread left.
    pub fn start(
        keeping: Keeping,
        begin: impl FnOnce() -> Result<PreparedSitting, NoSound> + Send + 'static,
    ) -> io::Result<Self> {
        let (screen_in, screen) = unbounded();
        let (state_in, states) = unbounded();
        let (command_in, commands) = bounded(COMMANDS);
        let (folder_in, folder) = bounded(1);
        let (record_in, handed_out) = unbounded();
        let (notices, end) = (screen_in.clone(), command_in.clone());
        let hearing = spawned("hearing", move || {
            let PreparedSitting { folder, drill, mut rig, a4, octave_up, keep_level } = begin()?;
            let _ = folder_in.send(folder);
            let mut handed = 0;
            let mut hand = |one| {
                handed += 1;
                let _ = record_in.send(one);
                handed
            };
            let mut mark = 0;
            let mut out = |out| match out {
                Out::Show(snapshot) => {
                    if keeping.answers.is_some_and(|most| snapshot.answers >= most) {
                        let _ = end.try_send(Command::End);
                    }
                    let _ = state_in.send((snapshot, mark));
                }
                Out::Draft(events) => mark = hand(ToRecord::Draft(events)),
                Out::Keep(event, sound) => mark = hand(ToRecord::Event(event, sound)),
            };
            let drill = DrillLoop::new(drill, &mut *rig, &commands, a4, &mut out).octave_up(octave_up).run();
            if let Some(level) = drill.answered_at() {
                keep_level(level);
            }
            Ok(())
        })?;
        let written = WrittenSoFar::default();
        let passed = written.clone();
        let gate = spawned("gate", move || written_first::pass(&states, &passed, &screen_in))?;
        let record = spawned("record", move || {
            // Where no folder came, no device opened, and there is nothing to keep.
            let kept = |folder| keep(folder, (keeping.sounds, keeping.review), &handed_out, &written, &notices);
            folder.recv().map_or(Finished::Nothing, kept)
        })?;
        Ok(Self { screen, commands: command_in, hearing, gate, record })
    }

    /// Ends the sitting, however the screen ended, and waits until its record is finished.
    #[must_use]
    pub fn finish(self) -> SittingEnd {
        let _ = self.commands.try_send(Command::End);
        let heard = self.hearing.join();
        let _ = self.gate.join();
        match (self.record.join(), heard) {
            (Err(_), _) => SittingEnd::RecordBroke,
            (Ok(_), Ok(Err(no_sound))) => SittingEnd::NoSound(no_sound),
            (Ok(finished), Ok(Ok(()))) => SittingEnd::Finished(finished),
            (Ok(finished), Err(_)) => SittingEnd::BrokeOff(finished),
        }
    }
}

fn spawned<T: Send + 'static>(name: &str, work: impl FnOnce() -> T + Send + 'static) -> io::Result<JoinHandle<T>> {
    Builder::new().name(name.to_owned()).spawn(work)
}
