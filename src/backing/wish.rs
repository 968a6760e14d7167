use std::ops::RangeInclusive;

use crate::units::{A440, Decibels, Hertz, SampleRate, Tempo};

/// The loudest a band may be: the highest its samples can reach.
pub const CEILING: Decibels = Decibels(-12.0);
/// How loud it usually is: softer than a cue, which peaks at the ceiling.
const USUAL: Decibels = Decibels(-16.0);
/// The tempos a band plays, in quarter notes a minute.
pub const TEMPOS: RangeInclusive<f64> = 40.0..=300.0;

/// How the bass goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BassLine {
    /// A note on every beat.
    Walking,
    /// Two notes in a bar.
    RootAndFifth,
}

/// What marks the time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TimeKeeping {
    /// A brush on the second and fourth beat.
    Brush,
    /// A click there.
    Click,
}

/// How a band is wished for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandWish {
    /// Quarter notes a minute; drawn into [`TEMPOS`].
    pub tempo: Tempo,
    /// Whether eighths swing.
    pub swing: bool,
    /// The bass; `None` for none.
    pub bass: Option<BassLine>,
    /// Whether chords are played.
    pub chords: bool,
    /// What marks the time; `None` for nothing but the lead-in.
    pub pulse: Option<TimeKeeping>,
    /// How many times the band goes through the form before an end on the tonic; `None` to go on and on.
    pub choruses: Option<u32>,
    /// The highest the samples can reach; [`CEILING`] at most.
    pub level: Decibels,
    /// Reference pitch.
    pub a4: Hertz,
    /// Rate of the samples.
    pub rate: SampleRate,
}

impl BandWish {
    /// The usual: all parts, walking bass, swung, softly, on and on.
    #[must_use]
    pub const fn new(tempo: Tempo, rate: SampleRate) -> Self {
        Self {
            tempo,
            swing: true,
            bass: Some(BassLine::Walking),
            chords: true,
            pulse: Some(TimeKeeping::Brush),
            choruses: None,
            level: USUAL,
            a4: A440,
            rate,
        }
    }
}
