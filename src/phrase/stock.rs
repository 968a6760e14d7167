use crate::music::Degree;
use crate::pattern::{Meter, Pattern, PatternId, PatternNote, Quality};
use crate::phrase::ground::{Harmony, within};

/// The number of notes of a pattern that may be a piece of a phrase.
const NOTES: std::ops::RangeInclusive<usize> = 3..=12;
/// The most half steps from the lowest to the highest note of such a pattern.
const WIDEST: i32 = 16;
/// The widest leap, in half steps, of a pattern that names no chord and so fits any: notes that surround another from both sides leap a
/// minor third.
const LEAP: i32 = 3;

/// The patterns of which phrases are made.
#[derive(Debug, Clone, Default)]
pub struct Stock(pub(super) Vec<StockPattern>);

/// A pattern of the stock.
#[derive(Debug, Clone)]
pub(super) struct StockPattern {
    /// The id of the pattern.
    pub id: PatternId,
    /// The plain name of the pattern.
    pub name: String,
    /// The chords that the pattern fits; empty where it fits any chord.
    over: Vec<Quality>,
    /// The notes of the pattern.
    pub notes: Vec<PatternNote>,
}

impl Stock {
    /// The stock of those of `patterns` that may be pieces. Such a pattern has three to twelve notes that span a tenth at most, is not
    /// in 6/8, has no pick-up, and stands over at most one chord, whose root is degree 1. It says which chords it fits, or has no leap
    /// beyond a minor third and then fits any chord.
    #[must_use]
    pub fn of<'p>(patterns: impl IntoIterator<Item = &'p Pattern>) -> Self {
        let may = |pattern: &&Pattern| {
            let chords = pattern.chords();
            NOTES.contains(&pattern.notes().len())
                && pattern.span().0 <= WIDEST
                && pattern.meter() != Meter::SixEight
                && pattern.pickup_ticks().0 == 0
                && chords.len() <= 1
                && chords.iter().all(|chord| chord.root.degree == Degree::TONIC)
                && (!pattern.over.is_empty() || !chords.is_empty() || by_small_steps(pattern))
        };
        let one = |pattern: &Pattern| {
            let named = pattern.chords().into_iter().map(|chord| chord.root.quality);
            let mut over: Vec<Quality> = pattern.over.iter().copied().chain(named).collect();
            over.dedup();
            let (id, name) = (pattern.id.clone(), pattern.name.clone());
            StockPattern { id, name, over, notes: pattern.notes().to_vec() }
        };
        Self(patterns.into_iter().filter(may).map(one).collect())
    }
    /// Whether the stock has no pattern.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
    /// How many patterns the stock has.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }
}

impl StockPattern {
    /// Whether the pattern fits any chord: it names none and has no leap beyond a minor third (a "line by half steps").
    pub(super) fn fits_any(&self) -> bool {
        self.over.is_empty()
    }
    /// Whether the pattern may begin on any tone of a chord: it is a line by half steps whose first note is degree 1.
    pub(super) fn begins_anywhere(&self) -> bool {
        self.fits_any() && self.notes.first().is_some_and(|first| first.degree.half_steps % 12 == 0)
    }
    /// Whether the pattern fits a chord at its place in the key. A line by half steps always does. Another pattern fits where it is
    /// written for that chord; or where it is written for a plainer chord whose tones the chord has, and all notes of the pattern
    /// are in the scale on the chord. In neither case does it fit where it has a major ninth or sixth and the scale has another
    /// ninth or sixth instead.
    pub(super) fn fits(&self, harmony: &Harmony) -> bool {
        if self.fits_any() {
            return true;
        }
        let has = |degrees: &[Degree], half_steps: i32| {
            degrees.iter().any(|degree| (degree.half_steps - half_steps).rem_euclid(12) == 0)
        };
        let plainer = |over: &Quality| {
            over.tones().iter().all(|tone| has(&harmony.tones, tone.half_steps))
                && self.notes.iter().all(|note| has(&harmony.scale, note.degree.half_steps))
        };
        let named = harmony.quality.is_some_and(|quality| self.over.contains(&quality));
        let against = |note: &PatternNote| {
            let degree = within(note.degree);
            let major = matches!((degree.letters, degree.half_steps), (1, 2) | (5, 9));
            let own = harmony.scale.iter().any(|own| own.letters == degree.letters);
            major && own && !has(&harmony.scale, degree.half_steps)
        };
        (named || self.over.iter().any(plainer)) && !self.notes.iter().any(against)
    }
}

/// Whether no move of the pattern is wider than [`LEAP`].
fn by_small_steps(pattern: &Pattern) -> bool {
    pattern.notes().windows(2).all(|pair| (pair[1].degree.half_steps - pair[0].degree.half_steps).abs() <= LEAP)
}
