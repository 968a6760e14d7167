//! A drill that asks just one line: what a lesson must say for it, and when the answer is due.

use earfirst::outside::cue::{Cue, CueSound, Form, Rendering, Timing, sound};
use earfirst::outside::music::Level;
use earfirst::outside::pattern::{Pattern, PatternId, Register, print, realise};
use earfirst::outside::units::{SampleRate, Seconds};
use earfirst::outside::verdict::{Expectation, TimeOrigin, UsualTuning};

use crate::manner::{BEAT_ZERO, Take};

/// The cue with which a drill asks the line of a take.
pub struct Asked {
    pub cue: Cue,
    pub sound: CueSound,
    pub lesson: String,
    /// What the answer is compared with where beat 0 of the take is at [`BEAT_ZERO`].
    pub expectation: Expectation,
    /// When beat 0 of the take is due, from the first sample of the cue's sound.
    pub due: Seconds,
}

impl Asked {
    /// The cue for a take; `None` where a drill would ask the take's notes in another rhythm.
    pub fn new(take: &Take) -> Option<Self> {
        let asked = &take.asked;
        let pattern = pattern(take);
        let range = take.instrument.range(Level::Student);
        let line = realise(&pattern, take.key, None, range, take.register).ok()?;
        let cue = Cue { timing: Timing::InTempo, ..Cue::new(&pattern, take.key, take.register, asked.tempo, line) };
        let cue = Cue { form: Form::Pattern, ..cue }.with_pickup(pattern.pickup());
        // Before a pick-up stands a rest that the take does not have.
        let rest = cue.line.notes[0].at - asked.line.notes[0].at;
        let same = cue.line.notes.iter().zip(&asked.line.notes);
        let same = same.into_iter().all(|(one, other)| (one.at - other.at - rest).0.abs() < 1e-9);
        if !same || cue.line.notes.len() != asked.line.notes.len() {
            return None;
        }
        let sound = sound(&cue, &Rendering { count_in: true, ..Rendering::new(SampleRate::DEVICE) });
        let (zero, rest) = (sound.beat_zero?, asked.tempo.lasting(rest));
        let beat_zero = Seconds(BEAT_ZERO) - rest;
        let clock = TimeOrigin::InTempo { cue_end: beat_zero + sound.end - zero, beat_zero };
        // A sitting says nothing of the tuning as a whole before it knows what is usual.
        let usual = UsualTuning::Withheld;
        let expectation = Expectation { line: cue.line.clone(), clock, usual, ..asked.clone() };
        let lesson = lesson(take, &pattern);
        Some(Self { due: zero + rest, cue, sound, lesson, expectation })
    }
}

/// The pattern of a take; one that is asked swung though the library has it straight is a pattern of the lesson's own.
fn pattern(take: &Take) -> Pattern {
    let mut pattern = take.pattern.clone();
    if take.swung {
        (pattern.id, pattern.swing) = (PatternId("swung-line".to_owned()), true);
    }
    pattern
}

/// A trial of one pattern in one key.
fn lesson(take: &Take, pattern: &Pattern) -> String {
    let (id, key, tempo) = (&pattern.id.0, take.key.name(), take.asked.tempo.0);
    let register = match take.register {
        Register::Low => "low",
        Register::Middle => "middle",
        Register::High => "high",
    };
    let own = if take.swung { print(pattern) } else { String::new() };
    format!(
        "lesson = 1\nname = \"one answer\"\npatterns = [\"{id}\"]\nkeys = [\"{key}\"]\nconcert = true\n\
         cue = \"pattern\"\ntempo = {tempo}\nregister = \"{register}\"\ndays = 1\nseed = 1\ntrial = true\n\n{own}"
    )
}
