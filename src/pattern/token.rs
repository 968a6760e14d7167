use std::fmt;

use crate::music::Degree;
use crate::pattern::quality::Quality;

/// How the numbers of a pattern are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Reads {
    /// Degrees of the major scale on the root.
    #[default]
    Degrees,
    /// Half steps from the tonic.
    HalfSteps,
    /// Tones of whatever chord is asked for.
    ChordTones,
}

/// One thing written in a pattern, blanks between them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Token {
    /// A note, a hold or a rest of one unit.
    Slot(Slot),
    /// Notes, holds and rests that share one unit evenly (more with holds after the bracket).
    Group(Vec<Slot>),
    /// The root and quality from which degrees count until the next one.
    Root(ChordRoot),
    /// A bar line, for the eye only.
    Bar,
}

/// What fills one unit, or one share of a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slot {
    /// A degree, or with [`Reads::ChordTones`] a chord tone by number.
    Degree(Degree),
    /// Half steps from the tonic.
    HalfSteps(i32),
    /// The note before holds on.
    Hold,
    /// A rest: nothing sounds.
    Rest,
}

/// A Roman numeral and quality.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ChordRoot {
    /// The root above the tonic, 0 to 6 letters.
    pub degree: Degree,
    /// The chord on it.
    pub quality: Quality,
}

/// Roman numerals by letters above the tonic.
pub(super) const NUMERALS: [&str; 7] = ["I", "II", "III", "IV", "V", "VI", "VII"];

impl ChordRoot {
    /// The tonic with a quality.
    #[must_use]
    pub const fn tonic(quality: Quality) -> Self {
        Self { degree: Degree::TONIC, quality }
    }
}

impl fmt::Display for ChordRoot {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = match self.degree.alteration() {
            ..=-1 => "b",
            0 => "",
            _ => "#",
        };
        let numeral = NUMERALS[self.degree.letters.rem_euclid(7) as usize];
        let quality = if self.quality == Quality::MAJOR { "" } else { self.quality.name() };
        write!(out, "{sign}{numeral}{quality}:")
    }
}

impl fmt::Display for Slot {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Degree(degree) => degree.fmt(out),
            Self::HalfSteps(half_steps) => half_steps.fmt(out),
            Self::Hold => out.write_str("-"),
            Self::Rest => out.write_str("."),
        }
    }
}

impl fmt::Display for Token {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Slot(slot) => slot.fmt(out),
            Self::Group(slots) => {
                let inside: Vec<String> = slots.iter().map(Slot::to_string).collect();
                write!(out, "[{}]", inside.join(" "))
            }
            Self::Root(root) => root.fmt(out),
            Self::Bar => out.write_str("/"),
        }
    }
}

/// The canonical text of a pattern's notes: every token in its one spelling, single blanks between.
#[must_use]
pub fn print_notes(tokens: &[Token]) -> String {
    tokens.iter().map(Token::to_string).collect::<Vec<_>>().join(" ")
}
