use crate::pattern::{PatternNote, Ticks};

/// How the rhythm of a piece differs from that of its pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Figure {
    /// The rhythm that the pattern has.
    Plain,
    /// The first note is an eighth longer.
    FirstLong,
    /// The first note is a quarter longer.
    FirstLonger,
    /// The first three eighths become a triplet in one beat.
    TripletBeginning,
}

/// When a piece begins after the piece before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PieceEntry {
    /// At once, on the next eighth; the first piece of a phrase then begins on the first beat. A piece whose first note also ends the
    /// piece before has this entry too.
    AtOnce,
    /// On an off-beat: an eighth after the next beat.
    EighthLate,
    /// On a beat, after a rest of an eighth or more.
    AfterRest,
    /// Where the chord changes.
    WithTheChord,
    /// An eighth before the chord changes.
    BeforeTheChord,
}

/// An eighth in ticks.
pub(super) const EIGHTH: i64 = Ticks::QUARTER / 2;

impl Figure {
    /// All figures.
    pub const ALL: [Self; 4] = [Self::Plain, Self::FirstLong, Self::FirstLonger, Self::TripletBeginning];

    /// The words that are said of this rhythm after the name of a pattern; `None` for the pattern's own rhythm.
    #[must_use]
    pub const fn words(self) -> Option<&'static str> {
        match self {
            Self::Plain => None,
            Self::FirstLong | Self::FirstLonger => Some("its first note long"),
            Self::TripletBeginning => Some("begun with a triplet"),
        }
    }
    /// The notes of a pattern in this rhythm, counted from the first note, and their whole length; `None` where the pattern's own
    /// rhythm cannot be changed so. `at` is where the piece begins.
    pub(super) fn lay(self, notes: &[PatternNote], at: Ticks) -> Option<(Vec<PatternNote>, Ticks)> {
        let (first, last) = (*notes.first()?, *notes.last()?);
        let mut laid: Vec<PatternNote> =
            notes.iter().map(|note| PatternNote { at: Ticks(note.at.0 - first.at.0), ..*note }).collect();
        let mut length = last.at.0 + last.length.0 - first.at.0;
        let longer = match self {
            Self::Plain => 0,
            Self::FirstLong | Self::FirstLonger => {
                let plain = matches!(first.length.0 / EIGHTH, 1 | 2) && first.length.0 % EIGHTH == 0;
                let joined = laid.get(1).is_some_and(|second| second.at == first.length);
                if !plain || !joined {
                    return None;
                }
                if self == Self::FirstLong { EIGHTH } else { 2 * EIGHTH }
            }
            Self::TripletBeginning => {
                let eighths = laid.iter().take(3).enumerate();
                let even = eighths.clone().all(|(n, note)| note.at.0 == n as i64 * EIGHTH && note.length.0 == EIGHTH);
                let whole = laid.len() > 3 && laid[3].at.0 == 3 * EIGHTH && at.0 % Ticks::QUARTER == 0;
                if !even || !whole {
                    return None;
                }
                let third = Ticks::QUARTER / 3;
                for (n, note) in laid.iter_mut().take(3).enumerate() {
                    (note.at, note.length) = (Ticks(n as i64 * third), Ticks(third));
                }
                laid.iter_mut().skip(3).for_each(|note| note.at.0 -= EIGHTH);
                return Some((laid, Ticks(length - EIGHTH)));
            }
        };
        laid[0].length.0 += longer;
        laid.iter_mut().skip(1).for_each(|note| note.at.0 += longer);
        length += longer;
        Some((laid, Ticks(length)))
    }
}

impl PieceEntry {
    /// The entries to draw from; a piece that follows at once is twice as likely as any other entry.
    pub(super) const DRAWN: [Self; 6] =
        [Self::AtOnce, Self::AtOnce, Self::EighthLate, Self::AfterRest, Self::WithTheChord, Self::BeforeTheChord];

    /// Where a piece begins that may begin from `free` on, with the next change of chord at `change`; `None` where that is earlier
    /// than `free` or more than two beats later.
    pub(super) fn begins(self, free: Ticks, change: Ticks) -> Option<Ticks> {
        let up_to = |unit: i64, at: i64| (at + unit - 1).div_euclid(unit) * unit;
        let eighth = up_to(EIGHTH, free.0);
        let at = match self {
            Self::AtOnce => eighth,
            Self::EighthLate => up_to(Ticks::QUARTER, eighth) + EIGHTH,
            Self::AfterRest => up_to(Ticks::QUARTER, eighth + EIGHTH),
            Self::WithTheChord => change.0,
            Self::BeforeTheChord => change.0 - EIGHTH,
        };
        (free.0..=free.0 + 2 * Ticks::QUARTER).contains(&at).then_some(Ticks(at))
    }
}
