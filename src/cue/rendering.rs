use crate::cue::FULL;
use crate::units::{A440, Decibels, Hertz, SampleRate};

/// How a cue is to be made into sound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rendering {
    /// Rate of the clip. A cue rendered at two rates has the same instants, to the nearest sample.
    pub rate: SampleRate,
    /// Reference pitch: the frequency of A4.
    pub a4: Hertz,
    /// Level of the highest peak.
    pub level: Decibels,
    /// Whether a bar of clicks goes before the cue; a cue whose key is told late has its own count.
    pub count_in: bool,
    /// Whether the cue sounds an octave up, for low instruments on small loudspeakers.
    pub octave_up: bool,
    /// Whether a chord is rolled quickly from its lowest note, not struck at once.
    pub rolled: bool,
}

impl Rendering {
    /// The usual: A4 = 440 Hz, peaks at -12 dB, no count-in, at pitch, chords struck.
    #[must_use]
    pub const fn new(rate: SampleRate) -> Self {
        Self { rate, a4: A440, level: FULL, count_in: false, octave_up: false, rolled: false }
    }
}
