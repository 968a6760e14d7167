//! Takes a pattern apart into fragments of the three families: stepwise, by half steps and by skips.
//!
//! The cheapest account of the line is found by dynamic programming (`split`): each fragment costs something, a fragment that fits its
//! family badly costs more, and a note in no fragment has a cost too. Fragments of two families may share the note on which they meet.
//! Costs depend on the distances between notes, not on the key. They were set on lines taken apart by hand.

use std::ops::Range;

use crate::pattern::model::{Family, Pattern};
use crate::pattern::split::{Between, LinePart, split};
use crate::pattern::time::Ticks;

/// A stretch of a pattern within one family.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fragment {
    /// [`Family::Stepwise`], [`Family::HalfSteps`] or [`Family::Skips`].
    pub family: Family,
    /// Indices of the fragment's notes; its first note may be the last note of the fragment before.
    pub notes: Range<usize>,
    /// The bar, from 1, of the first note that it does not share with the fragment before; 0 for the pick-up.
    pub bar: u32,
}

/// The fragments of a pattern in order. A note that belongs to no fragment is in none of the ranges.
#[must_use]
pub fn fragments(pattern: &Pattern) -> Vec<Fragment> {
    let all = pattern.notes();
    let heights: Vec<i32> = all.iter().map(|note| note.degree.half_steps).collect();
    // A rest of more than a quarter always parts the line.
    let between = |rest: i64| match rest {
        ..=0 => Between::Joined,
        1..=Ticks::QUARTER => Between::Rest,
        _ => Between::Parting,
    };
    let between: Vec<Between> = all.windows(2).map(|w| between(w[1].at.0 - w[0].at.0 - w[0].length.0)).collect();
    let (pickup, whole) = (pattern.pickup_ticks(), Ticks::nearest(pattern.meter().bar()));
    let bar = |at: Ticks| (at.0 - pickup.0).div_euclid(whole.0) + 1;
    let mut end = 0;
    let found = split(&heights, &between).parts.into_iter().map(|LinePart { family, notes }| {
        let own = notes.start.max(end);
        end = notes.end;
        Fragment { family, bar: bar(all[own].at).max(0) as u32, notes }
    });
    found.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::file::read;

    fn taken_apart(notes: &str) -> String {
        let text =
            format!("[[pattern]]\nid='a'\nname='a'\nfamily='phrase'\nlevel=1\ntempo=[60, 90]\nnotes='{notes}'\n");
        let (patterns, troubles) = read(&text, "a");
        assert_eq!(troubles, []);
        let shown = fragments(&patterns[0]).into_iter().map(|part| {
            let sign = match part.family {
                Family::Stepwise => "step",
                Family::HalfSteps => "half",
                _ => "skip",
            };
            format!("{}: {sign} {}-{}", part.bar, part.notes.start + 1, part.notes.end)
        });
        shown.collect::<Vec<_>>().join(", ")
    }

    #[test]
    fn phrases_come_apart_as_a_musician_marks_them() {
        // Worked by hand; notes are counted from one.
        for (notes, marked) in [
            ("1 2 3 4 5", "1: step 1-5"),
            ("1 3 5 7 8 7 6", "1: skip 1-4, 1: step 4-7"),
            ("1 3 5 7 8", "1: skip 1-4"),
            ("1 #1 2 #2 3", "1: half 1-5"),
            ("1 3 5 7 6 5 4 3", "1: skip 1-4, 1: step 4-8"),
            ("5 4 3 2 1 3 5 8", "1: step 1-5, 1: skip 5-8"),
            ("5 #4 4 3 b3 2 / 4 6 8 -", "1: half 1-6, 1: skip 6-9"),
            ("4 #2 3 5 7 9 - -", "1: half 1-3, 1: skip 3-6"),
            ("2 7, 1 3 5 8 - -", "1: half 1-3, 1: skip 3-6"),
            ("IIm7: 1 b3 5 b7 V7: 3 2 1 b7, / Imaj7: 3 - - -", "1: skip 1-4, 1: step 4-9"),
        ] {
            assert_eq!(taken_apart(notes), marked, "{notes}");
        }
    }

    #[test]
    fn a_part_is_counted_to_the_bar_of_its_first_own_note() {
        assert_eq!(taken_apart("1 2 3 4 5 4 3 2 / 1 3 5 8 5 3 1 -"), "1: step 1-9, 2: skip 9-15");
    }

    #[test]
    fn a_rest_of_more_than_a_beat_parts_and_a_lone_note_belongs_to_nothing() {
        assert_eq!(taken_apart("1 2 3 . . . 4 5 6"), "1: step 1-3, 1: step 4-6");
        assert_eq!(taken_apart("1"), "");
    }
}
