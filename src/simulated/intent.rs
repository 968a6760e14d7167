use crate::cue::{Cue, Form, Timing};
use crate::music::Concert;
use crate::simulated::chance::PlayerDraws;
use crate::units::{Seconds, Tempo, rank};

/// One note of a performance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PlayedNote {
    /// Onset, in seconds from the end of the cue.
    pub at: f64,
    /// How long the note sounds, its fall excluded, in seconds.
    pub length: f64,
    /// The pitch that is to sound.
    pub pitch: Concert,
    /// How far the note is off its pitch besides the player's general offset, in cents.
    pub cents: f64,
    /// Whether the note is joined to the note before, without a new attack.
    pub slurred: bool,
    /// How much louder than usual the note is, in decibels.
    pub accent_db: f64,
    /// The expected note that this note is meant for; `None` for extra notes, abandoned attempts and something else.
    pub meant: Option<usize>,
}

/// A performance before it is sounded.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Intent {
    /// The notes, in order of onset.
    pub notes: Vec<PlayedNote>,
    /// The tempo in which the answer is played.
    pub pace: Tempo,
    /// Where beat 0 of the answer lies, in seconds from the end of the cue.
    pub beat_zero: f64,
}

/// Shortest length of a note, seconds.
const SHORTEST: f64 = 0.06;

impl Intent {
    /// The line as the player would play it if nothing went wrong. `due` is where beat 0 is due after the end of the cue; an answer that is
    /// free, or has none due, begins once the player is ready. `known` says how well the key is known, 0 to 1.
    pub fn whole(cue: &Cue, due: Option<Seconds>, known: f64, chance: &mut PlayerDraws) -> Self {
        let in_tempo = if cue.timing == Timing::InTempo { due } else { None };
        let (pace, beat_zero) = match in_tempo {
            Some(due) => (cue.tempo.0 * (1.0 + 0.012 * chance.normal()), due.0 + 0.005 + 0.02 * chance.normal()),
            None => {
                let held = cue.tempo.0 * (0.82 + 0.2 * known) * (1.0 + 0.03 * chance.normal());
                (held, Self::ready(cue.form, known, chance))
            }
        };
        let beat = 60.0 / pace;
        let jitter = (0.025 - 0.015 * known) * (0.5 + 0.5 * beat.min(1.0));
        let slurring = chance.happens(0.4);
        let notes = cue.line.notes.iter().enumerate().map(|(index, note)| {
            let wobble = if index == 0 { 0.0 } else { (jitter * chance.normal()).clamp(-0.06, 0.06) };
            let at = beat_zero + note.at.0 * beat + wobble;
            let again = index > 0 && cue.line.notes[index - 1].pitch == note.pitch;
            PlayedNote {
                at,
                length: (note.length.0 * beat * chance.between(0.78, 0.92)).max(SHORTEST),
                pitch: note.pitch,
                cents: (6.0 - 3.0 * known) * chance.normal().clamp(-2.2, 2.2),
                slurred: slurring && index > 0 && !again && chance.happens(0.75),
                accent_db: 1.2 * chance.normal().clamp(-2.0, 2.0),
                meant: Some(index),
            }
        });
        Self { notes: notes.collect(), pace: Tempo(pace), beat_zero }
    }

    /// How long after the cue this player can begin, in seconds.
    pub fn ready(form: Form, known: f64, chance: &mut PlayerDraws) -> f64 {
        chance.lognormal(Self::readiness(form, known), 0.22).max(0.17)
    }

    /// Median reflex time by form of the cue, in seconds: names take longer than tones, and a key that must be thought out
    /// takes one to three seconds (from memory).
    fn readiness(form: Form, known: f64) -> f64 {
        let slowest = match form {
            Form::Pattern => 1.2,
            Form::FirstNote => 2.2,
            Form::Chord => 2.4,
            Form::NameOnly => 2.8,
        };
        0.35 + (slowest - 0.35) * (1.0 - known)
    }

    /// Moves the whole answer later by this time.
    pub fn later(&mut self, by: Seconds) {
        self.beat_zero += by.0;
        self.notes.iter_mut().for_each(|note| note.at += by.0);
    }

    /// Mends what faults have moved: order in time, no overlap, slurs only where one note runs into the next.
    pub fn settle(&mut self) {
        self.notes.sort_by_cached_key(|note| rank(note.at));
        for index in 0..self.notes.len().saturating_sub(1) {
            let (next, pitch) = (self.notes[index + 1].at, self.notes[index + 1].pitch);
            let note = &mut self.notes[index];
            let room = next - note.at;
            let joined = room < note.length + 0.35 && note.pitch != pitch;
            note.length = note.length.min((room - 0.025).max(0.5 * room));
            let after = &mut self.notes[index + 1];
            after.slurred &= joined;
            if after.slurred {
                self.notes[index].length = room;
            }
        }
    }
}
