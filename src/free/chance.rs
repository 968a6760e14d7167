//! What chance gives: lines drawn at random in the scale of a line that was played, with moves as often as that line has them.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use crate::music::PitchClass;

/// The half steps of a major scale.
const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
/// The number that stands in a list of moves where the line has a long rest; no pattern has a move of this size.
pub(super) const PARTED: i32 = 999;
/// How much the moves of the whole line weigh beside those that followed the same move in it: as much as this many moves.
const SMOOTH: f64 = 2.0;
/// The chance of a move that the line does not have.
const UNSEEN: f64 = 1e-6;

/// A move along the scale: the number of scale steps, and whether it ends on a note between two notes of the scale.
type ScaleMove = (i32, bool);

/// A Markov chain of the moves of a line along its scale: the chance of each move depends on the move before it.
#[derive(Clone)]
pub(super) struct ScaleChain {
    tonic: i32,
    /// How often each move came.
    moves: BTreeMap<ScaleMove, f64>,
    all: f64,
    /// For each move, how many moves came after it, and how often each of them came.
    after: BTreeMap<ScaleMove, (f64, BTreeMap<ScaleMove, f64>)>,
    /// How many notes the line has of each pitch class, from C on.
    notes: [f64; 12],
}

impl ScaleChain {
    /// The chain of a line. `heights` are its pitches; `moves` lie between them, with [`PARTED`] at each long rest.
    pub(super) fn of(heights: &[i32], moves: &[i32], tonic: PitchClass) -> Self {
        let mut chain =
            Self { tonic: tonic.get(), moves: BTreeMap::new(), all: 0.0, after: BTreeMap::new(), notes: [0.0; 12] };
        heights.iter().for_each(|height| chain.notes[height.rem_euclid(12) as usize] += 1.0);
        let mut before = None;
        for (n, by) in moves.iter().enumerate() {
            if *by == PARTED {
                before = None;
                continue;
            }
            let step = chain.step(heights[n], heights[n + 1]);
            *chain.moves.entry(step).or_insert(0.0) += 1.0;
            chain.all += 1.0;
            if let Some(before) = before {
                let (sum, next) = chain.after.entry(before).or_default();
                *sum += 1.0;
                *next.entry(step).or_insert(0.0) += 1.0;
            }
            before = Some(step);
        }
        chain
    }

    /// The chain of the same scale with these moves between the notes.
    pub(super) fn of_moves(&self, heights: &[i32], moves: &[i32]) -> Self {
        Self::of(heights, moves, PitchClass::new(self.tonic))
    }

    /// The chain of the same line, of which `self` is the chain, with long rests instead of the moves in these stretches.
    pub(super) fn without(&self, heights: &[i32], moves: &[i32], gone: impl IntoIterator<Item = Range<usize>>) -> Self {
        let mut chain = self.clone();
        let gone: BTreeSet<usize> = gone.into_iter().flatten().collect();
        let step = |n: usize| moves.get(n).filter(|by| **by != PARTED).map(|_| self.step(heights[n], heights[n + 1]));
        for n in &gone {
            let Some(here) = step(*n) else { continue };
            chain.all -= 1.0;
            if let Some(count) = chain.moves.get_mut(&here) {
                *count -= 1.0;
            }
            let before = n.checked_sub(1).filter(|before| !gone.contains(before)).and_then(step);
            let pairs = [before.map(|before| (before, here)), step(n + 1).map(|next| (here, next))];
            for (one, other) in pairs.into_iter().flatten() {
                if let Some((sum, next)) = chain.after.get_mut(&one) {
                    *sum -= 1.0;
                    next.entry(other).and_modify(|count| *count -= 1.0);
                }
            }
        }
        chain.moves.retain(|_, count| *count > 0.0);
        chain
    }

    /// The place on the scale at or just below a height, and whether the height lies a half step above that place.
    fn place(&self, height: i32) -> (i32, bool) {
        let above = height - self.tonic;
        let within = above.rem_euclid(12);
        let step = MAJOR.iter().rposition(|half_steps| *half_steps <= within).unwrap_or(0);
        (7 * above.div_euclid(12) + step as i32, MAJOR[step] != within)
    }

    fn height(&self, place: i32, between: bool) -> i32 {
        self.tonic + 12 * place.div_euclid(7) + MAJOR[place.rem_euclid(7) as usize] + i32::from(between)
    }

    fn step(&self, from: i32, to: i32) -> ScaleMove {
        let (to, between) = self.place(to);
        (to - self.place(from).0, between)
    }

    fn at_all(&self, step: ScaleMove) -> f64 {
        self.moves.get(&step).map_or(UNSEEN, |count| count / self.all)
    }

    fn chance(&self, before: Option<ScaleMove>, step: ScaleMove) -> f64 {
        let anyhow = self.at_all(step);
        match before.and_then(|before| self.after.get(&before)) {
            None => anyhow,
            Some((sum, next)) => (next.get(&step).unwrap_or(&0.0) + SMOOTH * anyhow) / (sum + SMOOTH),
        }
    }

    /// How often these moves, in half steps, are to be expected in a line that this chain draws, begun on any note of the line.
    pub(super) fn expected(&self, moves: &[i32]) -> f64 {
        self.by_start(moves).iter().sum()
    }

    /// The same, begun on one of those pitch classes only from which the moves are no likelier than from this height. A run that leaves
    /// the key is rarer than the same run in the key.
    pub(super) fn expected_as_rare(&self, moves: &[i32], from: i32) -> f64 {
        let all = self.by_start(moves);
        let own = all[from.rem_euclid(12) as usize];
        all.iter().filter(|other| **other <= own).sum()
    }

    /// How often these moves are to be expected from each pitch class, C to B.
    fn by_start(&self, moves: &[i32]) -> [f64; 12] {
        let from = |class: i32| {
            let (mut here, mut before, mut chance) = (60 + class, None, self.notes[class as usize]);
            for by in moves {
                if chance < 1e-12 {
                    return 0.0;
                }
                let step = self.step(here, here + by);
                chance *= self.chance(before, step);
                (here, before) = (here + by, Some(step));
            }
            chance
        };
        std::array::from_fn(|class| from(class as i32))
    }

    /// A line drawn by this chain, as moves in half steps, with its long rests where the line that was played has them. `heights`
    /// and `moves` are those of the line that was played; `chance` draws from 0 to 1.
    pub(super) fn drawn(&self, heights: &[i32], moves: &[i32], chance: &mut dyn FnMut() -> f64) -> Vec<i32> {
        let mut here = heights.first().copied().unwrap_or(60);
        let mut before = None;
        let mut drawn = Vec::with_capacity(moves.len());
        for (n, by) in moves.iter().enumerate() {
            if *by == PARTED {
                drawn.push(PARTED);
                (here, before) = (heights[n + 1], None);
                continue;
            }
            let step = self.next(before, chance());
            let next = self.height(self.place(here).0 + step.0, step.1);
            drawn.push(next - here);
            before = Some(self.step(here, next));
            here = next;
        }
        drawn
    }

    fn next(&self, before: Option<ScaleMove>, draw: f64) -> ScaleMove {
        let mut left = draw;
        for step in self.moves.keys() {
            left -= self.chance(before, *step);
            if left <= 0.0 {
                return *step;
            }
        }
        self.moves.keys().next_back().copied().unwrap_or_default()
    }
}

/// How far `count` times lie beyond the number that chance makes expected: minus the natural logarithm of the chance of `count`
/// times or more (Poisson distribution); 0 for no time.
pub(super) fn surprise(count: usize, expected: f64) -> f64 {
    if count == 0 {
        return 0.0;
    }
    let expected = expected.max(1e-12);
    // The first term of the sum over all numbers from `count` up is worked out as a logarithm, the others as shares of it.
    let first = count as f64 * expected.ln() - expected - (1..=count).map(|n| (n as f64).ln()).sum::<f64>();
    let (mut term, mut sum) = (1.0, 1.0);
    for n in count + 1..count + 200 {
        term *= expected / n as f64;
        sum += term;
    }
    -(first + f64::ln(sum)).min(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tail_of_a_poisson_is_that_of_the_handbook() {
        // P(X >= 1) = 1 - exp(-m); P(X >= 3) at m = 1 is .0803 (tables of the Poisson distribution).
        for (count, expected, tail) in [(1, 0.5, 0.3935), (3, 1.0, 0.0803), (1, 0.001, 0.0009995)] {
            let found = (-surprise(count, expected)).exp();
            assert!((found - tail).abs() < 1e-4, "{count} {expected}: {found}");
        }
    }

    #[test]
    fn a_run_that_leaves_the_key_is_rarer_than_the_same_run_in_the_key() {
        // C major up and down, with a Bb now and then: G A B C D stands in the key, Ab Bb C Db Eb does not.
        let heights: Vec<i32> = [60, 62, 64, 65, 67, 69, 70, 69, 67, 65, 64, 62].repeat(10);
        let moves: Vec<i32> = heights.windows(2).map(|w| w[1] - w[0]).collect();
        let chain = ScaleChain::of(&heights, &moves, PitchClass::new(0));
        let run = [2, 2, 1, 2];
        let [inside, outside] = [67, 68].map(|from| chain.expected_as_rare(&run, from));
        assert!((inside - chain.expected(&run)).abs() < 1e-9 && outside < 0.1 * inside, "{inside} {outside}");
    }

    #[test]
    fn a_chain_without_some_moves_is_that_of_the_line_with_rests_there() {
        let heights: Vec<i32> = (0..200).map(|n| 60 + [0, 2, 4, 5, 7, 9, 10][n * n % 29 % 7]).collect();
        let mut moves: Vec<i32> = heights.windows(2).map(|w| w[1] - w[0]).collect();
        moves[40] = PARTED;
        let gone = [0..3, 38..39, 41..46, 44..50, 196..199];
        let mut rest = moves.clone();
        gone.iter().for_each(|one| rest[one.clone()].fill(PARTED));
        let chain = ScaleChain::of(&heights, &moves, PitchClass::new(0));
        let [one, other] = [chain.without(&heights, &moves, gone), chain.of_moves(&heights, &rest)];
        for cell in moves.windows(3).filter(|cell| !cell.contains(&PARTED)) {
            let (one, other) = (one.expected(cell), other.expected(cell));
            assert!((one - other).abs() < 1e-9 * other.max(1e-9), "{one} {other}");
        }
    }

    #[test]
    fn a_drawn_line_keeps_key_and_motion() {
        // A scale in D up and down gives drawn lines of steps in D that mostly go on in the same direction.
        let up = [62, 64, 66, 67, 69, 71, 73, 74, 73, 71, 69, 67, 66, 64];
        let heights: Vec<i32> = up.iter().copied().cycle().take(280).collect();
        let moves: Vec<i32> = heights.windows(2).map(|w| w[1] - w[0]).collect();
        let chain = ScaleChain::of(&heights, &moves, PitchClass::new(2));
        let mut seed = 1u64;
        let mut chance = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 11) as f64 / (1u64 << 53) as f64
        };
        let drawn = chain.drawn(&heights, &moves, &mut chance);
        assert!(drawn.iter().all(|by| (1..=2).contains(&by.abs())));
        let mut height = heights[0];
        for by in &drawn {
            height += by;
            assert!([1, 2, 4, 6, 7, 9, 11].contains(&height.rem_euclid(12)));
        }
        let turns = drawn.windows(2).filter(|w| w[0].signum() != w[1].signum()).count();
        assert!((20..60).contains(&turns), "{turns} of 279, 40 in the line");
        assert!(chain.expected(&[2, 2, 1]) > 10.0 && chain.expected(&[4, 3]) < 1e-3);
    }
}
