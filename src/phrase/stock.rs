use crate::music::Degree;
use crate::pattern::{Meter, Pattern, PatternId, PatternNote, Quality};
use crate::phrase::ground::{Harmony, within};

/// Notes of a pattern that may be a piece of a phrase.
const NOTES: std::ops::RangeInclusive<usize> = 3..=12;
/// From its lowest to its highest note, half steps.
const WIDEST: i32 = 16;
/// The widest leap in a line by half steps: a surround has a minor third.
const LEAP: i32 = 3;

/// The patterns of which phrases are made.
#[derive(Debug, Clone, Default)]
pub struct Stock(pub(super) Vec<StockPattern>);

/// A pattern of the stock.
#[derive(Debug, Clone)]
pub(super) struct StockPattern {
    /// The name of the pattern in files.
    pub id: PatternId,
    /// The plain name of the pattern.
    pub name: String,
    /// Chords it fits; empty where it fits any, and then it may begin on any tone.
    over: Vec<Quality>,
    /// The notes of the pattern.
    pub notes: Vec<PatternNote>,
}

impl Stock {
    /// Those of these patterns that may be pieces: over one chord or any, three to twelve notes, in quarters, from the first
    /// bar line on. Longer ones, and phrases over several chords, stand alone.
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
    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }
}

impl StockPattern {
    /// The pattern is a line by half steps, which fits any chord.
    pub(super) fn fits_any(&self) -> bool {
        self.over.is_empty()
    }
    /// It may begin on any tone of a chord: no other note of it is named by where it stands over the root.
    pub(super) fn begins_anywhere(&self) -> bool {
        self.fits_any() && self.notes.first().is_some_and(|first| first.degree.half_steps % 12 == 0)
    }
    /// Whether it fits a chord where that stands: it is named for it, or for a plainer chord whose tones are in it with
    /// notes of its scale alone. It may not have a major ninth or sixth where the scale has the minor one.
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

/// No leap is wider than in a surround.
fn by_small_steps(pattern: &Pattern) -> bool {
    pattern.notes().windows(2).all(|pair| (pair[1].degree.half_steps - pair[0].degree.half_steps).abs() <= LEAP)
}
