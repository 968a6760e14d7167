use crate::music::ConcertKey;
use crate::pattern::{Join, PatternId, Seam};

/// One whole pattern in a line of joined patterns.
#[derive(Debug, Clone, PartialEq)]
pub struct JoinedPart {
    /// The id of the pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub title: String,
    /// The root of the chord over which the pattern begins, as it sounds.
    pub key: ConcertKey,
    /// The first note of the pattern, by its place in the line.
    pub first: usize,
    /// The last note of the pattern, by its place in the line.
    pub last: usize,
    /// How the pattern is joined to the part before it; `None` for one that stands alone, and where that part is not in the line.
    pub seam: Option<Seam>,
}

/// A seam between two patterns of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JoinInLine {
    /// The patterns, and the kind of the seam.
    pub join: Join,
    /// The first note after the seam, by its place in the line; where the patterns share a note, the note after it.
    pub note: usize,
}

/// The seams between these parts, in order.
#[must_use]
pub fn joins(parts: &[JoinedPart]) -> Vec<JoinInLine> {
    let one = |pair: &[JoinedPart]| {
        let seam = pair[1].seam?;
        let join = Join { before: pair[0].pattern.clone(), after: pair[1].pattern.clone(), seam };
        Some(JoinInLine { join, note: pair[1].first + usize::from(seam == Seam::Shared) })
    };
    parts.windows(2).filter_map(one).collect()
}
