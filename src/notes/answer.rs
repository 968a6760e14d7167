use super::note_event::NoteEvent;
use crate::units::{Seconds, Tempo};

/// Silence that ends an answer, at least, whatever the tempo: a breath is shorter.
const END_S: Seconds = Seconds(0.8);
/// Silence that ends an answer, at least, in beats: a rest of one beat ends none.
const END_BEATS: f64 = 2.0;
/// An answer that has not begun after this time is taken as left out.
const NEVER_S: Seconds = Seconds(5.0);

/// What silence says about an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Silence {
    /// Nothing was played yet, and there is still time.
    Waiting,
    /// The answer goes on.
    Sounding,
    /// The answer is over; it ended when its last note was released.
    Ended(Seconds),
    /// Nothing was played in time.
    Never,
}

/// Decides by silence alone where an answer ended: after the longer of .8 s and two beats without a note. An answer that did
/// not begin within 5 s never will.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnswerEnd {
    /// Instant from which notes belong to the answer.
    from: Seconds,
    /// Silence that ends the answer.
    silence: Seconds,
    /// A note of the answer has begun.
    began: bool,
    /// Number of notes that sound.
    sounding: u32,
    /// When the last note was released, or was heard last.
    last: Seconds,
}

impl AnswerEnd {
    /// An answer that may begin from `from` on, at a tempo.
    #[must_use]
    pub fn new(from: Seconds, tempo: Tempo) -> Self {
        let silence = END_S.max(tempo.beat() * END_BEATS);
        Self { from, silence, began: false, sounding: 0, last: from }
    }

    /// Takes in what the ear reports. Notes that began before the answer may begin are left out.
    pub fn hear(&mut self, announced: &NoteEvent) {
        let note = announced.note();
        if note.onset < self.from {
            return;
        }
        match announced {
            NoteEvent::On(_) => {
                self.began = true;
                self.sounding += 1;
            }
            NoteEvent::Revised(_) => (),
            NoteEvent::Off(_) => self.sounding = self.sounding.saturating_sub(1),
        }
        self.last = self.last.max(note.release);
    }

    /// What is known at `now`.
    #[must_use]
    pub fn at(&self, now: Seconds) -> Silence {
        if !self.began {
            return if now - self.from >= NEVER_S { Silence::Never } else { Silence::Waiting };
        }
        if self.sounding == 0 && now - self.last >= self.silence {
            Silence::Ended(self.last)
        } else {
            Silence::Sounding
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::note_event::HeardNote;
    use super::*;
    use crate::units::{Decibels, Midi};

    fn note(onset: f64, release: f64) -> HeardNote {
        HeardNote {
            number: 0,
            onset: Seconds(onset),
            release: Seconds(release),
            pitch: Midi(60.0),
            spread: None,
            loudness: Decibels(-20.0),
            confidence: 1.0,
            announced: Seconds(onset + 0.03),
            announced_pitch: Midi(60.0),
        }
    }

    #[test]
    fn an_answer_ends_two_beats_after_its_last_note() {
        let mut answer = AnswerEnd::new(Seconds(1.0), Tempo(60.0));
        answer.hear(&NoteEvent::On(note(1.5, 1.6)));
        assert_eq!(answer.at(Seconds(9.0)), Silence::Sounding);
        answer.hear(&NoteEvent::Off(note(1.5, 2.0)));
        assert_eq!(answer.at(Seconds(3.9)), Silence::Sounding);
        assert_eq!(answer.at(Seconds(4.0)), Silence::Ended(Seconds(2.0)));
    }

    #[test]
    fn at_a_fast_tempo_a_breath_of_less_than_eight_tenths_ends_nothing() {
        let mut answer = AnswerEnd::new(Seconds(0.0), Tempo(240.0));
        answer.hear(&NoteEvent::On(note(0.5, 0.6)));
        answer.hear(&NoteEvent::Off(note(0.5, 1.0)));
        assert_eq!(answer.at(Seconds(1.7)), Silence::Sounding);
        assert_eq!(answer.at(Seconds(1.8)), Silence::Ended(Seconds(1.0)));
    }

    #[test]
    fn an_answer_that_does_not_begin_in_five_seconds_never_does() {
        let mut answer = AnswerEnd::new(Seconds(2.0), Tempo(100.0));
        answer.hear(&NoteEvent::On(note(1.0, 1.5)));
        assert_eq!(answer.at(Seconds(6.9)), Silence::Waiting);
        assert_eq!(answer.at(Seconds(7.0)), Silence::Never);
    }
}
