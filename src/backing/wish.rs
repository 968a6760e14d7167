use std::ops::RangeInclusive;

use crate::units::{A440, Decibels, Hertz, SampleRate, Tempo};

/// The highest level of a band: no sample is beyond it.
pub const CEILING: Decibels = Decibels(-12.0);
/// The usual level of a band: softer than a cue at its full level, which peaks at [`CEILING`].
const USUAL: Decibels = Decibels(-16.0);
/// The tempos a band plays, in quarter notes a minute.
pub const TEMPOS: RangeInclusive<f64> = 40.0..=300.0;

/// How the bass goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BassLine {
    /// A note on every beat.
    Walking,
    /// Two notes for a chord that fills four beats of a bar or more, one for a shorter chord.
    RootAndFifth,
}

/// What marks the time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TimeKeeping {
    /// A brush on the second and fourth beat of four; `comp.rs` has the beats of other meters.
    Brush,
    /// A click on the same beats as the brush.
    Click,
}

/// How a band is to play.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandWish {
    /// Quarter notes a minute; a tempo outside [`TEMPOS`] becomes the nearest one inside.
    pub tempo: Tempo,
    /// Whether eighths swing.
    pub swing: bool,
    /// How the bass goes; `None` for no bass.
    pub bass: Option<BassLine>,
    /// Whether chords are played.
    pub chords: bool,
    /// What marks the time; `None` for nothing but the lead-in.
    pub pulse: Option<TimeKeeping>,
    /// How many times the band goes through the form before an end on the tonic; `None` for a band without an end.
    pub choruses: Option<u32>,
    /// The level that no sample exceeds; [`CEILING`] at most.
    pub level: Decibels,
    /// Reference pitch: the frequency of A4.
    pub a4: Hertz,
    /// Rate of the samples.
    pub rate: SampleRate,
}

impl BandWish {
    /// The usual wish: walking bass, chords and brush, swung, softly, without an end.
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
