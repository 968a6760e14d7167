use crate::music::{Concert, HalfSteps, NamedBy, Range};
use crate::units::Beats;

/// One note that is expected in an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExpectedNote {
    /// Concert pitch.
    pub pitch: Concert,
    /// Where the note begins, in quarter notes from the start of the line.
    pub at: Beats,
    /// How long the note lasts, in quarter notes.
    pub length: Beats,
    /// How the note is named; `None` where only its pitch is known.
    pub named: Option<NamedBy>,
}

/// A pattern realised in one key and register: at least one note, in order of time, without overlaps.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The notes in order.
    pub notes: Vec<ExpectedNote>,
    /// The whole length in quarter notes, rests at the end included.
    pub length: Beats,
}

/// Where in the player's own range a line is asked: which of the octaves in which it fits is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Register {
    /// The lowest octave in which the line fits the range.
    Low,
    /// The octave in which the line lies nearest to the middle of the range.
    Middle,
    /// The highest octave in which the line fits the range.
    High,
}

impl Register {
    /// All registers, from low to high.
    pub const ALL: [Self; 3] = [Self::Low, Self::Middle, Self::High];

    /// The name of the register as it is typed and printed.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Low => "low",
            Self::Middle => "middle",
            Self::High => "high",
        }
    }
}

/// Why a line cannot be realised: in no octave does it lie inside the range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the line spans {} half steps and no octave of it lies inside the range, which spans {}", nearest.span().0, range.span().0)]
pub struct NoFit {
    /// The lowest and the highest note of the line in the octave for which the range would have to be widened least.
    pub nearest: Range,
    /// The range that was asked for.
    pub range: Range,
}

impl Line {
    /// The lowest and the highest pitch; C4 for a line without notes.
    #[must_use]
    pub fn range(&self) -> Range {
        let pitches = self.notes.iter().map(|note| note.pitch);
        let low = pitches.clone().min().unwrap_or(Concert(60));
        Range { low, high: pitches.max().unwrap_or(low) }
    }
    /// This line `up` half steps higher.
    #[must_use]
    pub fn transposed(&self, up: HalfSteps) -> Self {
        let notes = self.notes.iter().map(|note| ExpectedNote { pitch: note.pitch + up, ..*note }).collect();
        Self { notes, length: self.length }
    }
}
