//! Cues made by hand for tests, without library and coach.

use earfirst::outside::cue::{Cue, Form, Timing};
use earfirst::outside::music::{Concert, ConcertKey};
use earfirst::outside::pattern::{ExpectedNote, Line, PatternId, Register};
use earfirst::outside::units::{Beats, Tempo};

/// A line of even notes of `length` each.
pub fn line(pitches: &[i32], length: f64) -> Line {
    let notes = pitches
        .iter()
        .enumerate()
        .map(|(index, pitch)| ExpectedNote {
            pitch: Concert(*pitch),
            at: Beats(index as f64 * length),
            length: Beats(length),
            named: None,
        })
        .collect();
    Line { notes, length: Beats(pitches.len() as f64 * length) }
}

/// A cue of even eighths at `bpm`, in the key of its first note.
pub fn cue(pitches: &[i32], bpm: f64, form: Form, timing: Timing) -> Cue {
    Cue {
        number: 1,
        pattern: PatternId("by-hand".to_owned()),
        title: "by hand".to_owned(),
        key: ConcertKey(Concert(pitches[0]).class()),
        spelling: earfirst::outside::music::Spelling::default(),
        register: Register::Middle,
        form,
        timing,
        tempo: Tempo(bpm),
        meter: earfirst::outside::pattern::Meter::FourFour,
        line: line(pitches, 0.5),
        chord: [0, 4, 7].iter().map(|up| Concert(pitches[0] + up)).collect(),
        click: false,
        repeat: false,
        warning: None,
        second_task: None,
        joined: Vec::new(),
        round: None,
        by_ear: false,
    }
}
