use crate::units::Seconds;
use crate::verdict::{NoteLabel, Verdict};

/// A gap at a seam stands out where it is larger than this and than twice the answer's own unevenness.
const GAP: Seconds = Seconds(0.05);

/// What became of one seam between two patterns of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeamVerdict {
    /// The first note after the seam, by its place in the line, counted from 0.
    pub note: usize,
    /// Whether the notes on both sides of the seam are right.
    pub right: bool,
    /// How much later than the line asks that note came after the note before the seam, by the answer's own pulse; negative is
    /// sooner. `None` where one of the two was not heard.
    pub gap: Option<Seconds>,
    /// Whether the gap is larger than .05 s and than twice the unevenness of the other notes.
    pub stands_out: bool,
}

impl SeamVerdict {
    /// Whether the seam passed: its notes are right and came in time.
    #[must_use]
    pub const fn passed(&self) -> bool {
        self.right && !self.stands_out
    }
}

impl NoteLabel {
    /// Whether the note was played as it was asked.
    #[must_use]
    pub const fn is_right(self) -> bool {
        matches!(self, Self::Right | Self::Merged)
    }
}

/// What became of the seams before these notes of the line, in their order; nothing where the answer is no attempt at the line.
#[must_use]
pub fn seams(at: &[usize], verdict: &Verdict) -> Vec<SeamVerdict> {
    if !verdict.related {
        return Vec::new();
    }
    let late = |n: usize| Some(verdict.expected.get(n)?.off_pulse?.0);
    let stood = |n: usize| verdict.stood.iter().find(|stood| stood.before == n).map_or(0.0, |stood| stood.by.0);
    let gap = |n: usize| Some(late(n)? - late(n.checked_sub(1)?)? + stood(n));
    let others: Vec<f64> = (1..verdict.expected.len()).filter(|n| !at.contains(n)).filter_map(gap).collect();
    let uneven = (others.iter().map(|gap| gap * gap).sum::<f64>() / (others.len().max(1)) as f64).sqrt();
    let right = |n: usize| verdict.expected.get(n).is_some_and(|note| note.label.is_right());
    let one = |&n: &usize| {
        let gap = gap(n);
        let stands_out = gap.is_some_and(|gap| gap.abs() > GAP.0.max(2.0 * uneven));
        SeamVerdict { note: n, right: right(n) && n > 0 && right(n - 1), gap: gap.map(Seconds), stands_out }
    };
    at.iter().map(one).collect()
}
