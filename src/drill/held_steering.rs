use crate::notes::{HeardNote, NoteEvent};
use crate::units::Seconds;

/// The held note that steers a drill by ear.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct HeldSteering {
    /// The newest note, while it sounds.
    note: Option<HeardNote>,
    /// What the note has done so far: 0 nothing, 1 paused the drill (or found it paused), 2 began a rest, 3 ended the sitting.
    pub(super) done: u32,
    /// When the last trial was closed, answered or not, or the last round in which something was played; a note that begins later, in
    /// a gap or a pause, is no answer.
    pub(super) quiet_since: Seconds,
    /// The number of a note that has gone on from a pause: however long it is still held, it does nothing more.
    went_on: Option<u32>,
}

impl HeldSteering {
    /// Takes in what the ear tells.
    pub(super) fn hear(&mut self, event: &NoteEvent) {
        let (note, known) = (event.note(), self.note.map(|note| note.number));
        match event {
            NoteEvent::Off(_) if known == Some(note.number) => self.note = None,
            NoteEvent::Off(_) => {}
            NoteEvent::On(_) | NoteEvent::Revised(_) => {
                self.done = if known == Some(note.number) { self.done } else { 0 };
                self.note = Some(*note);
            }
        }
    }

    /// Takes in that the newest note has gone on from a pause.
    pub(super) fn go_on(&mut self) {
        self.went_on = self.note.map(|note| note.number);
    }

    /// The newest note while it sounds, unless it has gone on from a pause.
    pub(super) fn steering(&self) -> Option<HeardNote> {
        self.note.filter(|note| self.went_on != Some(note.number))
    }

    /// Whether this note has steered already and still sounds.
    pub(super) fn has_steered(&self, number: u32) -> bool {
        self.done > 0 && self.note.is_some_and(|note| note.number == number)
    }
}
