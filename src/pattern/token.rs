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
    /// Numbers of chord tones, for each chord quality that the pattern names.
    ChordTones,
}

/// One token of a pattern's notes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Token {
    /// A note, a rest or the sign `-`, one unit long.
    Slot(Slot),
    /// Slots that share one unit evenly, or one unit more for each `-` after the bracket.
    Group(Vec<Slot>),
    /// The root and quality from which degrees count until the next one.
    Root(ChordRoot),
    /// A bar line, which has no meaning besides making the notes easier to read.
    Bar,
}

/// What fills one unit, or one share of a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slot {
    /// A degree, or with [`Reads::ChordTones`] a chord tone by number.
    Degree(Degree),
    /// Half steps from the tonic.
    HalfSteps(i32),
    /// The note before goes on; after a group, the group as a whole lasts longer.
    Hold,
    /// A rest: nothing sounds.
    Rest,
}

/// The root of a chord, written as a Roman numeral, and the quality of the chord.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ChordRoot {
    /// The root, within an octave of the tonic.
    pub degree: Degree,
    /// The quality of the chord on this root.
    pub quality: Quality,
}

/// The Roman numerals, by the number of letters above the tonic.
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

/// The canonical text of a pattern's notes: the tokens in their canonical spelling, with single blanks between them.
#[must_use]
pub fn print_notes(tokens: &[Token]) -> String {
    tokens.iter().map(Token::to_string).collect::<Vec<_>>().join(" ")
}
