//! Choosing patterns from the library by their properties, and comparing two patterns.

use std::ops::RangeInclusive;

use crate::music::{ConcertKey, Range};
use crate::pattern::line::Register;
use crate::pattern::model::{Family, Pattern};
use crate::pattern::quality::Quality;
use crate::pattern::realise::realise;
use crate::pattern::rhythm::RhythmFeature;

/// The properties that a pattern must have to be listed; a property that is `None`, or no words, is not looked at.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PatternQuery {
    /// The family of the pattern.
    pub family: Option<Family>,
    /// The levels, both ends included.
    pub level: Option<RangeInclusive<u8>>,
    /// A chord quality that the pattern fits: one that the pattern names or has among its chords; a pattern for any chord fits all.
    pub over: Option<Quality>,
    /// The numbers of notes, both ends included.
    pub notes: Option<RangeInclusive<usize>>,
    /// A feature of the pattern's rhythm.
    pub rhythm: Option<RhythmFeature>,
    /// Words that all have to stand in the pattern's name or in what the pattern trains, in any order, in capitals or small letters.
    pub words: Vec<String>,
    /// The range inside which the pattern has to fit in every key.
    pub inside: Option<Range>,
}

impl PatternQuery {
    /// Whether a pattern passes.
    #[must_use]
    pub fn passes(&self, pattern: &Pattern) -> bool {
        let over = |quality: Quality| {
            let chords = pattern.chords();
            (pattern.over.is_empty() && chords.is_empty())
                || pattern.over.contains(&quality)
                || chords.iter().any(|section| section.root.quality == quality)
        };
        let said = || format!("{} {}", pattern.name, pattern.trains).to_lowercase();
        let fits = |range: Range| {
            let in_key = |key: &ConcertKey| realise(pattern, *key, None, range, Register::Low).is_ok();
            ConcertKey::FIFTHS.iter().all(in_key)
        };
        self.family.is_none_or(|family| pattern.family == family)
            && self.level.as_ref().is_none_or(|level| level.contains(&pattern.level))
            && self.over.is_none_or(over)
            && self.notes.as_ref().is_none_or(|notes| notes.contains(&pattern.notes().len()))
            && self.rhythm.is_none_or(|rhythm| pattern.rhythm().contains(&rhythm))
            && (self.words.is_empty() || self.words.iter().all(|word| said().contains(&word.to_lowercase())))
            && self.inside.is_none_or(fits)
    }
}

impl Pattern {
    /// Whether another pattern sounds the same, note for note and in the same rhythm, meter and swing, when both begin on the same
    /// note. The length of the last note does not count.
    #[must_use]
    pub fn sounds_as(&self, other: &Self) -> bool {
        let (mine, theirs) = (self.notes(), other.notes());
        let (Some(first), Some(their_first)) = (mine.first(), theirs.first()) else { return false };
        let up = their_first.degree.half_steps - first.degree.half_steps;
        let later = their_first.at.0 - first.at.0;
        let rhythm = (self.swing, self.meter()) == (other.swing, other.meter());
        let length = |n: usize, length: i64| if n + 1 == mine.len() { 0 } else { length };
        rhythm
            && mine.len() == theirs.len()
            && mine.iter().zip(theirs).enumerate().all(|(n, (one, two))| {
                two.degree.half_steps - one.degree.half_steps == up
                    && two.at.0 - one.at.0 == later
                    && length(n, one.length.0) == length(n, two.length.0)
            })
    }
    /// How much two patterns have in common, as a number to sort by. What they train counts most (16), then the family (8); a chord quality
    /// in common, rhythm (2 for each feature in common, two at most) and level (one less for each level apart) count up to 4 each.
    #[must_use]
    pub fn in_common(&self, other: &Self) -> u32 {
        let over = |pattern: &Self| -> Vec<Quality> {
            let chords = pattern.chords().into_iter().map(|section| section.root.quality);
            pattern.over.iter().copied().chain(chords).collect()
        };
        let theirs = over(other);
        let chord = over(self).iter().any(|quality| theirs.contains(quality));
        let rhythm = other.rhythm();
        let moves = self.rhythm().iter().filter(|own| rhythm.contains(own)).count() as u32;
        let level = 4 - u32::from(self.level.abs_diff(other.level)).min(4);
        let worth = |is: bool, much: u32| if is { much } else { 0 };
        worth(self.trains == other.trains && !self.trains.is_empty(), 16)
            + worth(self.family == other.family, 8)
            + worth(chord, 4)
            + 2 * moves.min(2)
            + level
    }
}
