use crate::chart::Numeral;
use crate::music::{Degree, Range};
use crate::pattern::{Line, PatternId};
use crate::phrase::figure::{Figure, PieceEntry};

/// Two or three patterns, joined, over some bars of a form; or patterns that stand alone there.
#[derive(Debug, Clone, PartialEq)]
pub struct Phrase {
    /// The patterns in order.
    pub pieces: Vec<JoinedPiece>,
    /// All notes with even eighths, in quarters from the first bar line. Their letters count from the tonic of the form.
    pub line: Line,
    /// The degree of the last note in its chord, and that chord; `None` where patterns stand alone on their chords.
    pub landing: Option<(Degree, Numeral)>,
    /// Whether the last note stands after the last pattern, which leads to it by step.
    pub landing_apart: bool,
}

impl Phrase {
    /// The first note after each seam, by its place in the line; where two pieces share a note, the note after it. The landing is
    /// among them where it does not belong to the last pattern.
    #[must_use]
    pub fn seam_notes(&self) -> Vec<usize> {
        let joined = self.pieces.iter().filter_map(|piece| match piece.seam? {
            Seam::Shared => Some(piece.first + 1),
            Seam::HalfStep | Seam::Step => Some(piece.first),
        });
        let apart = self.landing_apart.then(|| self.line.notes.len().saturating_sub(1));
        joined.chain(apart).collect()
    }
}

/// One pattern in a phrase.
#[derive(Debug, Clone, PartialEq)]
pub struct JoinedPiece {
    /// The id of the pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub name: String,
    /// The chord to which the first note of the piece belongs: on an off-beat, the chord of the next beat.
    pub chord: Numeral,
    /// The first note of the piece, by its place in the line.
    pub first: usize,
    /// The last note of the piece, by its place in the line.
    pub last: usize,
    /// How the piece's rhythm differs from the pattern's.
    pub figure: Figure,
    /// When the piece begins after the piece before it.
    pub entry: PieceEntry,
    /// How the piece is joined to the one before; `None` for the first piece and for one that stands alone.
    pub seam: Option<Seam>,
}

/// How two patterns are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Seam {
    /// By a half step.
    HalfStep,
    /// By a whole step.
    Step,
    /// One note ends the first pattern and begins the second.
    Shared,
}

impl Seam {
    /// The words that say how two patterns are joined.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::HalfStep => "by a half step",
            Self::Step => "by a whole step",
            Self::Shared => "by a note in common",
        }
    }
}

/// Why no phrase could be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoPhrase {
    /// No chord is played there.
    #[error("no chord stands in these bars")]
    Silent,
    /// No pattern of the stock fits the chords.
    #[error("none of the patterns fits {chord}")]
    NoPattern {
        /// The first chord of the bars; where one kind of chord was named, the last chord of that kind.
        chord: Numeral,
    },
    /// None of the patterns lies inside the range on any of the chords that it fits.
    #[error("none of the patterns that fit {chord} lies inside the range, which spans {} half steps", range.span().0)]
    OutOfRange {
        /// The first of the chords that a pattern fits.
        chord: Numeral,
        /// The range.
        range: Range,
    },
    /// The chord that was named is not there.
    #[error("no chord of this chart is {asked}")]
    NoSuchChord {
        /// The chord that was named.
        asked: Numeral,
    },
    /// Patterns fit the chord that was named, but none of them ends before the bars do and lies inside the range.
    #[error("none of the patterns for {chord} fits into these bars and the range")]
    NoRoom {
        /// The last chord of the bars that is of the kind named.
        chord: Numeral,
    },
    /// No draw gave a phrase, though patterns fit the chords and have room in the range. The words name one possible reason.
    #[error("none of the patterns that fit these chords goes on into another by step")]
    NoSeam,
}
