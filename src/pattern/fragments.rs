//! A line taken apart into the three families: what stands in it by step, by half steps and by skips.
//!
//! The cheapest account of the line is looked for by dynamic programming over its beginnings: each fragment costs, a note
//! left over costs, and so does what fits its family badly. Fragments of two families may share the note they meet on. Only
//! distances enter, never the key. The costs were set on lines worked by hand.

use std::ops::Range;
use std::sync::LazyLock;

use crate::music::scale;
use crate::pattern::model::{Family, Pattern};
use crate::pattern::quality::Quality;
use crate::pattern::time::Ticks;

/// A fragment, and what it costs more for having two notes only, for each move, for each repeated note.
const FRAGMENT: f64 = 1.0;
const TWO_NOTES: f64 = 0.35;
const MOVE: f64 = 0.01;
const REPEATED: f64 = 0.05;
/// A note in no fragment.
const LEFT_OVER: f64 = 0.90;
/// A fragment that does not begin on the last note of the one before, without a rest between.
const UNJOINED: f64 = 0.35;
/// No fragment has more notes.
const LONGEST: usize = 32;
/// A half step inside a stepwise fragment, so that runs by half steps take what they can.
const HALF_STEP: f64 = 0.06;
/// A target gone round from both sides.
const TURN: f64 = 0.12;
/// A chain of thirds in a key, or of equal fourths or fifths, instead of one chord.
const CHAIN: f64 = 0.25;
/// Chords that a fragment by skips may lie in.
const CHORDS: [&str; 10] = ["maj7", "7", "m7", "m7b5", "dim7", "mMaj7", "maj7#5", "7#5", "6", "7sus4"];
/// Scales that a fragment by step may lie in, with what they cost.
const SCALES: [(&str, f64); 5] =
    [("ionian", 0.0), ("melodic-minor", 0.15), ("harmonic-minor", 0.15), ("whole-tone", 0.30), ("half-whole", 0.30)];

/// A stretch of a line within one family.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fragment {
    /// [`Family::Stepwise`], [`Family::HalfSteps`] or [`Family::Skips`].
    pub family: Family,
    /// Its notes, by index; the first may be the last of the part before.
    pub notes: Range<usize>,
    /// The bar of its first own note, from 1; 0 is a pick-up.
    pub bar: u32,
}

/// A set of pitch classes.
#[derive(Clone, Copy)]
struct Set(u16);

impl Set {
    fn of(half_steps: impl Iterator<Item = i32>) -> Self {
        Self(half_steps.fold(0, |set, n| set | 1 << n.rem_euclid(12)))
    }
    /// The same on any of the twelve roots.
    fn holds_somewhere(self, other: Self) -> bool {
        (0..12).any(|up| other.0 & !(self.0 << up | self.0 >> (12 - up)) & 0xfff == 0)
    }
}

static SCALE_SETS: LazyLock<Vec<(Set, f64)>> = LazyLock::new(|| {
    let set = |name: &str| scale(name).ok().map(|scale| Set::of(scale.degrees.iter().map(|degree| degree.half_steps)));
    SCALES.iter().filter_map(|(name, cost)| Some((set(name)?, *cost))).collect()
});
static CHORD_SETS: LazyLock<Vec<Set>> = LazyLock::new(|| {
    let set = |quality: Quality| Set::of(quality.tones().iter().map(|tone| tone.half_steps));
    CHORDS.iter().filter_map(|name| Quality::parse(name)).map(set).collect()
});

/// The parts of a pattern in order. A note that belongs to none stands between them.
#[must_use]
pub fn fragments(pattern: &Pattern) -> Vec<Fragment> {
    let all = pattern.notes();
    let heights: Vec<i32> = all.iter().map(|note| note.degree.half_steps).collect();
    let rests: Vec<Ticks> = all.windows(2).map(|w| Ticks(w[1].at.0 - w[0].at.0 - w[0].length.0)).collect();
    let (pickup, whole) = (pattern.pickup_ticks(), Ticks::nearest(pattern.meter().bar()));
    let bar = |at: Ticks| (at.0 - pickup.0).div_euclid(whole.0) + 1;
    let mut end = 0;
    let found = split(&heights, &rests).into_iter().map(|(family, notes)| {
        let own = notes.start.max(end);
        end = notes.end;
        Fragment { family, bar: bar(all[own].at).max(0) as u32, notes }
    });
    found.collect()
}

/// The cheapest account of the first notes, the last of its fragments being of some family.
#[derive(Clone, Copy)]
struct BestSplit {
    cost: f64,
    /// Fragment that ends it, where one does, and the account before it.
    last: Option<(Family, usize)>,
    before: (usize, usize),
}

/// The three families and, last, a note left over.
const ENDINGS: [Option<Family>; 4] = [Some(Family::Stepwise), Some(Family::HalfSteps), Some(Family::Skips), None];

fn split(heights: &[i32], rests: &[Ticks]) -> Vec<(Family, Range<usize>)> {
    let count = heights.len();
    // best[k][e]: the first k notes, with ending e.
    let mut best: Vec<[Option<BestSplit>; 4]> = vec![[None; 4]; count + 1];
    best[0][3] = Some(BestSplit { cost: 0.0, last: None, before: (0, 3) });
    let parted = |k: usize| k == 0 || rests[k - 1].0 > 0;
    for k in 0..count {
        for ending in 0..4 {
            let Some(split) = best[k][ending] else { continue };
            offer(&mut best[k + 1][3], BestSplit { cost: split.cost + LEFT_OVER, last: None, before: (k, ending) });
            for (place, family) in ENDINGS.iter().enumerate().filter_map(|(place, family)| Some((place, (*family)?))) {
                let joins = ENDINGS[ending].is_some() && place != ending && !parted(k);
                let apart = (k, if parted(k) { 0.0 } else { UNJOINED });
                for (start, more) in [apart].into_iter().chain(joins.then(|| (k - 1, 0.0))) {
                    for end in (start + 2).max(k + 1)..=count.min(start + LONGEST) {
                        // A rest of more than a beat always parts.
                        if rests[start..end - 1].iter().any(|rest| rest.0 > Ticks::QUARTER) {
                            break;
                        }
                        let Some(cost) = fragment(family, &heights[start..end]) else { continue };
                        let cost = split.cost + more + cost;
                        let last = Some((family, start));
                        offer(&mut best[end][place], BestSplit { cost, last, before: (k, ending) });
                    }
                }
            }
        }
    }
    trace(&best, count)
}

fn offer(place: &mut Option<BestSplit>, split: BestSplit) {
    if place.is_none_or(|there| split.cost < there.cost - 1e-9) {
        *place = Some(split);
    }
}

/// The fragments of the cheapest whole account.
fn trace(best: &[[Option<BestSplit>; 4]], count: usize) -> Vec<(Family, Range<usize>)> {
    let cost = |ending: &usize| best[count][*ending].map_or(f64::INFINITY, |split| split.cost);
    let mut at = (count, (0..4).min_by(|a, b| cost(a).total_cmp(&cost(b))).unwrap_or(3));
    let mut found = Vec::new();
    while let (k @ 1.., ending) = at {
        let Some(split) = best[k][ending] else { break };
        found.extend(split.last.map(|(family, start)| (family, start..k)));
        at = split.before;
    }
    found.reverse();
    found
}

/// What a fragment costs; `None` where it does not belong to the family.
fn fragment(family: Family, heights: &[i32]) -> Option<f64> {
    let moves: Vec<i32> = heights.windows(2).map(|w| w[1] - w[0]).collect();
    let set = Set::of(heights.iter().copied());
    let fits = match family {
        Family::Stepwise => stepwise(&moves, set),
        Family::HalfSteps => by_half_steps(&moves, set),
        Family::Skips => by_skips(&moves, set),
        Family::Phrase => None,
    }?;
    let repeated = moves.iter().filter(|by| **by == 0).count() as f64;
    let two = if heights.len() == 2 { TWO_NOTES } else { 0.0 };
    Some(FRAGMENT + two + MOVE * moves.len() as f64 + REPEATED * repeated + fits)
}

fn stepwise(moves: &[i32], set: Set) -> Option<f64> {
    let stepwise = moves.iter().all(|by| by.abs() <= 2) && moves.iter().any(|by| *by != 0);
    let scale = SCALE_SETS.iter().find(|(scale, _)| scale.holds_somewhere(set)).filter(|_| stepwise)?.1;
    Some(scale + HALF_STEP * moves.iter().filter(|by| by.abs() == 1).count() as f64)
}

/// Half steps that no major scale holds, and targets gone round from both sides: two or three half steps over the target,
/// then back to it, one of the sides a half step away.
fn by_half_steps(moves: &[i32], set: Set) -> Option<f64> {
    let mut turns = 0;
    let mut at = 0;
    while at < moves.len() {
        match (moves[at], moves.get(at + 1)) {
            (over @ (2..=3 | -3..=-2), Some(back @ (-2..=-1 | 1..=2))) if over.signum() != back.signum() => {
                let sides = (over.abs() - back.abs(), back.abs());
                if !(sides.0 == 1 || sides.1 == 1) || !(1..=2).contains(&sides.0) {
                    return None;
                }
                turns += 1;
                at += 2;
            }
            (-1..=1, _) => at += 1,
            _ => return None,
        }
    }
    let outside = SCALE_SETS.first().is_none_or(|(major, _)| !major.holds_somewhere(set));
    let moves_at_all = moves.iter().any(|by| *by != 0);
    (turns > 0 || (outside && moves_at_all)).then_some(TURN * f64::from(turns))
}

fn by_skips(moves: &[i32], set: Set) -> Option<f64> {
    let sizes = || moves.iter().map(|by| by.abs()).filter(|size| *size != 0);
    if !sizes().all(|size| (3..=12).contains(&size)) || sizes().next().is_none() {
        return None;
    }
    if CHORD_SETS.iter().any(|chord| chord.holds_somewhere(set)) {
        return Some(0.0);
    }
    let thirds =
        sizes().all(|size| size <= 4) && SCALE_SETS.first().is_some_and(|(major, _)| major.holds_somewhere(set));
    let equal = moves.windows(2).all(|w| w[0] == w[1]) && sizes().all(|size| size == 5 || size == 7);
    (thirds || equal).then_some(CHAIN)
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

    #[test]
    fn the_key_does_not_matter() {
        let heights = [0, 4, 7, 11, 9, 7, 5, 4, 3, 2, 1, 0];
        let rests = [Ticks(0); 11];
        let here = split(&heights, &rests);
        for up in 1..12 {
            assert_eq!(split(&heights.map(|height| height + up), &rests), here);
        }
    }

    /// Fragments joined at random, each on the last note of the one before; heights, and family and notes of each.
    fn joined(mut below: impl FnMut(usize) -> usize) -> (Vec<i32>, Vec<(Family, Range<usize>)>) {
        let (mut heights, mut truth) = (vec![below(24) as i32], Vec::<(Family, Range<usize>)>::new());
        for _ in 0..2 + below(3) {
            let families = [Family::Stepwise, Family::HalfSteps, Family::Skips];
            let last = truth.last().map(|part| part.0);
            let others: Vec<Family> = families.into_iter().filter(|family| Some(*family) != last).collect();
            let family = others[below(others.len())];
            // Chords in thirds, whole, from the root up or from the seventh down; else any stretch of the ladder.
            let mut chord =
                || Quality::parse(CHORDS[below(8)]).unwrap().tones().iter().map(|tone| tone.half_steps).collect();
            let (ladder, more): (Vec<i32>, usize) = match family {
                Family::Stepwise => (vec![0, 2, 4, 5, 7, 9, 11], 3 + below(3)),
                Family::HalfSteps => ((0..12).collect(), 3 + below(3)),
                _ => (chord(), 3),
            };
            let (size, up) = (ladder.len() as i32, if below(2) == 0 { 1 } else { -1 });
            let from = match family {
                Family::Skips if up > 0 => 0,
                Family::Skips => 3,
                _ => below(ladder.len()) as i32,
            };
            let at = |place: i32| ladder[place.rem_euclid(size) as usize] + 12 * place.div_euclid(size);
            let (start, base) = (heights.len() - 1, heights[heights.len() - 1]);
            heights.extend((1..=more as i32).map(|n| base + at(from + up * n) - at(from)));
            truth.push((family, start..heights.len()));
        }
        (heights, truth)
    }

    #[test]
    fn lines_joined_at_random_come_apart_where_they_were_joined() {
        let mut seed = 20_261_126u64;
        let mut below = |n: usize| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) as usize % n
        };
        let near = |a: &Range<usize>, b: &Range<usize>| a.start.abs_diff(b.start) <= 1 && a.end.abs_diff(b.end) <= 1;
        let mut found = 0;
        for _ in 0..300 {
            let (heights, truth) = joined(&mut below);
            let rests = vec![Ticks(0); heights.len() - 1];
            let fragments = split(&heights, &rests);
            let same = fragments.len() == truth.len()
                && fragments.iter().zip(&truth).all(|(part, wanted)| part.0 == wanted.0 && near(&part.1, &wanted.1));
            found += u32::from(same);
        }
        assert!(found >= 285, "{found} of 300");
    }
}
