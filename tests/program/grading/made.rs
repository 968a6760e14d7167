//! Helpers that make expectations and heard notes.

use earfirst::outside::music::{Concert, Intonation};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::pattern::{ExpectedNote, Line};
use earfirst::outside::units::{Beats, Cents, Decibels, Midi, Seconds, Tempo};
use earfirst::outside::verdict::{Expectation, TimeOrigin};

/// One heard note: pitch as a fractional note number, onset in seconds, length in seconds.
pub fn note(pitch: f64, onset: f64, length: f64) -> HeardNote {
    HeardNote {
        number: 0,
        onset: Seconds(onset),
        release: Seconds(onset + length),
        pitch: Midi(pitch),
        spread: Some(Cents(2.0)),
        loudness: Decibels(-20.0),
        confidence: 0.95,
        announced: Seconds(onset + 0.05),
        announced_pitch: Midi(pitch),
    }
}

/// A line with these pitches at these beats, to be answered freely at a tempo; the cue ends at 2 s.
pub fn asked_at(pitches: &[i32], beats: &[f64], tempo: f64) -> Expectation {
    let one = |(&pitch, &at): (&i32, &f64)| ExpectedNote {
        pitch: Concert(pitch),
        at: Beats(at),
        length: Beats(0.5),
        named: None,
    };
    let notes: Vec<ExpectedNote> = pitches.iter().zip(beats).map(one).collect();
    let length = Beats(beats.last().copied().unwrap_or(0.0) + 0.5);
    Expectation {
        line: Line { notes, length },
        tempo: Tempo(tempo),
        clock: TimeOrigin::Free { cue_end: Seconds(2.0) },
        delay: Some(Seconds(0.0)),
        intonation: Intonation::Scored { in_tune: Cents(10.0), acceptable: Cents(20.0), off: Cents(40.0) },
        usual: earfirst::outside::verdict::UsualTuning::Unknown,
    }
}

/// A line in eighths at quarter = 120.
pub fn asked(pitches: &[i32]) -> Expectation {
    let beats: Vec<f64> = (0..pitches.len()).map(|i| 0.5 * i as f64).collect();
    asked_at(pitches, &beats, 120.0)
}
