use crate::chart::Numeral;
use crate::music::{Degree, Range};
use crate::pattern::{Join, Line, PatternId, Seam};
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
    /// For whose sake the phrase was drawn; `None` where it was drawn freely.
    pub wanted: Option<WantedPiece>,
}

/// What is to come more often in phrases, at their beginning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WantedPiece {
    /// A join of two patterns.
    Join(Join),
    /// A pattern.
    Pattern(PatternId),
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
