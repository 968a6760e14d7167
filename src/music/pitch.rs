use std::ops::{Add, Sub};

use crate::units::{Hertz, Midi};

/// A signed distance in equal-tempered half steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct HalfSteps(pub i32);

/// A pitch as it sounds: a MIDI note number, 60 is middle C (C4), 69 is A4 (MIDI 1.0 Detailed Specification).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Concert(pub i32);

/// A pitch as it stands on the player's page, numbered like [`Concert`]; an instrument joins the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Written(pub i32);

/// A pitch without its octave, 0 (C) to 11 (B).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PitchClass(u8);

/// The lowest and highest sounding pitch that may be used, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Range {
    /// The lowest pitch.
    pub low: Concert,
    /// The highest pitch, not below `low`.
    pub high: Concert,
}

impl HalfSteps {
    /// The name of an interval with its article, the same up and down: "a half step", "a minor third" (common practice). `None` for a
    /// unison and for intervals beyond the octave.
    #[must_use]
    pub const fn interval(self) -> Option<&'static str> {
        Some(match self.0.unsigned_abs() {
            1 => "a half step",
            2 => "a whole step",
            3 => "a minor third",
            4 => "a major third",
            5 => "a fourth",
            6 => "a tritone",
            7 => "a fifth",
            8 => "a minor sixth",
            9 => "a major sixth",
            10 => "a minor seventh",
            11 => "a major seventh",
            12 => "an octave",
            _ => return None,
        })
    }
}

impl PitchClass {
    /// The pitch class of a number of half steps from C.
    #[must_use]
    pub const fn new(half_steps_from_c: i32) -> Self {
        Self(half_steps_from_c.rem_euclid(12) as u8)
    }
    /// The class as a number, 0 (C) to 11 (B).
    #[must_use]
    pub const fn get(self) -> i32 {
        self.0 as i32
    }
}

impl Range {
    /// The range between two pitches, given in either order.
    #[must_use]
    pub fn new(one: Concert, other: Concert) -> Self {
        Self { low: one.min(other), high: one.max(other) }
    }
    /// Whether a pitch lies inside.
    #[must_use]
    pub fn contains(self, pitch: Concert) -> bool {
        (self.low..=self.high).contains(&pitch)
    }
    /// The distance from the lowest to the highest pitch.
    #[must_use]
    pub fn span(self) -> HalfSteps {
        self.high - self.low
    }
}

macro_rules! pitch {
    ($name:ident) => {
        impl $name {
            /// The pitch without its octave.
            #[must_use]
            pub const fn class(self) -> PitchClass {
                PitchClass::new(self.0)
            }
            /// The octave number, 4 for middle C's (scientific pitch notation).
            #[must_use]
            pub const fn octave(self) -> i32 {
                self.0.div_euclid(12) - 1
            }
        }
        impl Add<HalfSteps> for $name {
            type Output = Self;
            fn add(self, up: HalfSteps) -> Self {
                Self(self.0 + up.0)
            }
        }
        impl Sub for $name {
            type Output = HalfSteps;
            fn sub(self, other: Self) -> HalfSteps {
                HalfSteps(self.0 - other.0)
            }
        }
    };
}
pitch!(Concert);
pitch!(Written);

impl Concert {
    /// The pitch as a fractional note number.
    #[must_use]
    pub fn midi(self) -> Midi {
        Midi(f64::from(self.0))
    }
    /// The equal-tempered frequency at a reference of `a4`.
    #[must_use]
    pub fn hertz(self, a4: Hertz) -> Hertz {
        self.midi().hertz(a4)
    }
}
