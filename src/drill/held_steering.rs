use crate::notes::{HeardNote, NoteEvent};
use crate::units::Seconds;

/// The held note that steers a drill by ear.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct HeldSteering {
    /// The newest note, while it sounds.
    pub(super) note: Option<HeardNote>,
    /// How much it did: 1 paused, 2 rests, 3 ended.
    pub(super) done: u32,
    /// The end of the last answer: what begins later is none.
    pub(super) quiet_since: Seconds,
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

    /// This note has paused the drill, and is held on.
    pub(super) fn holds(&self, number: u32) -> bool {
        self.done > 0 && self.note.is_some_and(|note| note.number == number)
    }
}
