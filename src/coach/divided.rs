//! What a second task costs: answers given while something is counted, beside the same answers without.

use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::units::Seconds;

/// With fewer pairs of answers than this nothing is said of a cost.
const FEW: u32 = 6;
/// Whoever guesses a number is right once in this many times, since a sound is tapped two to eight times, each as likely.
const NUMBERS: f64 = 7.0;
/// An interval whose end comes this near to zero shows nothing: in seconds no onset is known so exactly, and as a share of answers this
/// is far under one in a hundred.
const LEAST: f64 = 1e-4;
/// So many right numbers that guessing gets as many in at most this share of sittings show that the player counted.
const GUESSED: f64 = 0.05;

/// One answer of a block.
#[derive(Debug, Clone, PartialEq)]
pub struct DividedAnswer {
    /// The pattern.
    pub pattern: PatternId,
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// Whether something was counted meanwhile.
    pub counting: bool,
    /// Whether the answer was all right at the first attempt.
    pub whole: bool,
    /// How late the answer came after its beats; `None` where that is not known.
    pub late: Option<Seconds>,
    /// How far the answer lay from its own pulse; `None` where that is not known.
    pub uneven: Option<Seconds>,
}

/// The sums of differences between pairs of answers.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PairedSums {
    /// Number of pairs.
    pub pairs: u32,
    /// The sum of their differences.
    pub sum: f64,
    /// The sum of the squares of their differences.
    pub squares: f64,
}

/// A cost with its spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CostBetween {
    /// Number of pairs.
    pub pairs: u32,
    /// The mean difference: above zero the answers were worse while counting.
    pub mean: f64,
    /// The true mean lies between these in 95 of 100 such sittings; `None` under six pairs.
    pub between: Option<(f64, f64)>,
}

/// What counting cost, as differences between the two answers of a pair: both answer one pattern in one key, one of them while counting.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TaskCost {
    /// Whether the answer was all right, as 1 or 0: the answer without counting minus the one with it.
    pub right: PairedSums,
    /// Seconds after the beat: the answer with counting minus the one without it.
    pub late: PairedSums,
    /// Seconds from the answer's own pulse: the answer with counting minus the one without it.
    pub uneven: PairedSums,
}

/// How the counts came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct TapCounts {
    /// Number of blocks whose number was asked.
    pub blocks: u32,
    /// Number of blocks whose number was right.
    pub right: u32,
    /// By how much the wrong numbers were off, added up; a number of nine or more counts as nine.
    pub off: u32,
    /// Number of blocks for which no number was given.
    pub unsaid: u32,
}

/// Answers of blocks with and without counting, joined in pairs as they come.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Divided {
    waiting: Vec<DividedAnswer>,
    /// One entry for each pattern, in the order in which the patterns first had a pair of answers.
    pub costs: Vec<(PatternId, TaskCost)>,
    /// How the counts came out.
    pub counts: TapCounts,
}

impl Divided {
    /// Enters an answer. It is paired with the earliest answer that waits, of the same pattern and key and from the other kind of block;
    /// where there is none, it waits.
    pub fn enter(&mut self, answer: DividedAnswer) {
        let other = self
            .waiting
            .iter()
            .position(|it| it.counting != answer.counting && (&it.pattern, it.key) == (&answer.pattern, answer.key));
        let Some(other) = other.map(|at| self.waiting.remove(at)) else { return self.waiting.push(answer) };
        let (with, without) = if answer.counting { (&answer, &other) } else { (&other, &answer) };
        let mine = self.costs.iter().position(|(pattern, _)| *pattern == answer.pattern);
        let mine = mine.unwrap_or_else(|| {
            self.costs.push((answer.pattern.clone(), TaskCost::default()));
            self.costs.len() - 1
        });
        let cost = &mut self.costs[mine].1;
        cost.right.enter(f64::from(u8::from(without.whole)) - f64::from(u8::from(with.whole)));
        let both = |of: fn(&DividedAnswer) -> Option<Seconds>| Some((of(with)? - of(without)?).0);
        both(|it| it.late).into_iter().for_each(|by| cost.late.enter(by));
        both(|it| it.uneven).into_iter().for_each(|by| cost.uneven.enter(by));
    }

    /// The cost over all patterns.
    #[must_use]
    pub fn cost(&self) -> TaskCost {
        self.costs.iter().fold(TaskCost::default(), |all, (_, cost)| all.and(cost))
    }
}

impl TaskCost {
    /// Both together.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        Self {
            right: self.right.and(other.right),
            late: self.late.and(other.late),
            uneven: self.uneven.and(other.uneven),
        }
    }

    /// The cost in the share of answers that are all right.
    #[must_use]
    pub fn of_right(&self) -> CostBetween {
        let PairedSums { pairs, sum, squares } = self.right;
        // Half a pair is added to each of the four ways in which two answers can come out, so that a few pairs that are all alike
        // do not seem certain (A. Agresti and Y. Min 2005, Statistics in Medicine 24, from memory).
        let spread = PairedSums { pairs: pairs + 2, sum, squares: squares + 1.0 }.between();
        CostBetween { pairs, mean: self.right.mean(), between: spread.filter(|_| pairs >= FEW) }
    }

    /// The cost in seconds after the beat.
    #[must_use]
    pub fn of_late(&self) -> CostBetween {
        self.late.cost()
    }

    /// The cost in seconds from the answer's own pulse.
    #[must_use]
    pub fn of_uneven(&self) -> CostBetween {
        self.uneven.cost()
    }
}

impl PairedSums {
    fn enter(&mut self, by: f64) {
        *self = self.and(Self { pairs: 1, sum: by, squares: by * by });
    }

    fn and(self, other: Self) -> Self {
        Self {
            pairs: self.pairs.saturating_add(other.pairs),
            sum: self.sum + other.sum,
            squares: self.squares + other.squares,
        }
    }

    fn mean(self) -> f64 {
        self.sum / f64::from(self.pairs.max(1))
    }

    fn cost(self) -> CostBetween {
        CostBetween { pairs: self.pairs, mean: self.mean(), between: self.between().filter(|_| self.pairs >= FEW) }
    }

    /// Student's interval of the mean difference (1908, Biometrika 6, from memory); `None` for fewer than two pairs.
    fn between(self) -> Option<(f64, f64)> {
        let n = f64::from(self.pairs);
        let mean = self.mean();
        let error = ((self.squares - n * mean * mean).max(0.0) / (n * (n - 1.0))).sqrt();
        let half = error * student(n - 1.0);
        half.is_finite().then_some((mean - half, mean + half))
    }
}

/// The number of standard errors within which 95 of 100 means lie (Abramowitz and Stegun 1964, 26.7.5, from memory). From five degrees
/// of freedom on it is right to a hundredth.
fn student(freedom: f64) -> f64 {
    const Z: f64 = 1.959_963_984_540_054;
    let terms = [
        (Z.powi(3) + Z) / 4.0,
        (5.0 * Z.powi(5) + 16.0 * Z.powi(3) + 3.0 * Z) / 96.0,
        (3.0 * Z.powi(7) + 19.0 * Z.powi(5) + 17.0 * Z.powi(3) - 15.0 * Z) / 384.0,
    ];
    terms.iter().rev().fold(0.0, |sum, term| (sum + term) / freedom) + Z
}

impl CostBetween {
    /// Whether answers are shown to be worse (`true`) or better (`false`) while counting: the interval leaves out zero. `None`
    /// where nothing is shown.
    #[must_use]
    pub fn shown(&self) -> Option<bool> {
        let (low, high) = self.between?;
        if low > LEAST { Some(true) } else { (high < -LEAST).then_some(false) }
    }
}

impl TapCounts {
    /// Enters the number that was given for a block.
    pub fn enter(&mut self, sounded: u32, said: Option<u32>) {
        let off = said.map(|said| said.min(9).abs_diff(sounded.min(9)));
        *self = self.and(&Self {
            blocks: 1,
            right: u32::from(off == Some(0)),
            off: off.unwrap_or(0),
            unsaid: u32::from(off.is_none()),
        });
    }

    /// Both together.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        Self {
            blocks: self.blocks.saturating_add(other.blocks),
            right: self.right.saturating_add(other.right),
            off: self.off.saturating_add(other.off),
            unsaid: self.unsaid.saturating_add(other.unsaid),
        }
    }

    /// Whether so many numbers are right that the player truly counted, and did not guess (`GUESSED`). Otherwise no cost is known, for
    /// whoever does not count pays nothing.
    #[must_use]
    pub fn counted(&self) -> bool {
        let (guess, n) = (1.0 / NUMBERS, f64::from(self.blocks));
        let mut at = (1.0 - guess).powf(n);
        let mut below = 0.0;
        for k in 0..self.right.min(self.blocks) {
            below += at;
            at *= (n - f64::from(k)) / f64::from(k + 1) * guess / (1.0 - guess);
        }
        self.blocks > 0 && 1.0 - below <= GUESSED
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::Rng;

    fn normal(rng: &mut Rng) -> f64 {
        (-2.0 * (1.0 - rng.uniform()).ln()).sqrt() * (std::f64::consts::TAU * rng.uniform()).cos()
    }

    /// A player whose answers, while they count, are all right less often, later, and more uneven by the amounts below. Without counting
    /// .9 of the answers are all right; onsets lie 30 ms about the beat as a whole, and the eight notes 18 ms about their own pulse, a
    /// little more or less in each answer (10 to 25 ms a note: facts of the trade, as in `simulated`). Some keys are harder than others,
    /// and answers get better from block to block, except that they get no more even.
    struct Planted {
        wrong: f64,
        late_s: f64,
        uneven_s: f64,
        /// Share of numbers that are right; `None` for a player who counts nothing and says any number.
        counts: Option<f64>,
    }

    const NO_COST: Planted = Planted { wrong: 0.0, late_s: 0.0, uneven_s: 0.0, counts: Some(0.8) };

    impl Planted {
        /// A sitting of so many pairs of answers, six to a block, in the order A B B A.
        fn sitting(&self, pairs: u32, rng: &mut Rng) -> Divided {
            let mut divided = Divided::default();
            for block in 0..pairs / 3 {
                let counting = [true, false, false, true][block as usize % 4];
                for key in 0..6 {
                    divided.enter(self.answer(counting, block, key, rng));
                }
                if counting {
                    let sounded = 2 + (rng.uniform() * 7.0) as u32;
                    let right = rng.uniform() < self.counts.unwrap_or(0.0);
                    let said = if self.counts.is_none() { 2 + (rng.uniform() * 7.0) as u32 } else { sounded + 1 };
                    divided.counts.enter(sounded, Some(if right { sounded } else { said }));
                }
            }
            divided
        }

        fn answer(&self, counting: bool, block: u32, key: usize, rng: &mut Rng) -> DividedAnswer {
            let on = f64::from(u8::from(counting));
            let (hard, tired) = ((key as f64 - 2.5) / 2.5, f64::from(block) * 0.001);
            let whole = rng.uniform() >= (0.1 + 0.08 * hard - tired).max(0.0) + on * self.wrong;
            let about = 0.018 * (1.0 + 0.15 * normal(rng)).max(0.3) + on * self.uneven_s;
            let squares: f64 = (0..7).map(|_| normal(rng).powi(2)).sum();
            let uneven = about * (squares / 8.0).sqrt();
            let late = 0.01 * hard + 0.03 * normal(rng) - tired + on * self.late_s;
            DividedAnswer {
                pattern: PatternId("a".to_owned()),
                key: ConcertKey::FIFTHS[key],
                counting,
                whole,
                late: Some(Seconds(late)),
                uneven: Some(Seconds(uneven)),
            }
        }

        /// In what share of so many sittings each cost is shown, and that it was counted.
        fn found(&self, pairs: u32, sittings: u32) -> [f64; 4] {
            let (mut found, mut rng) = ([0.0; 4], Rng::new(u64::from(pairs)));
            for _ in 0..sittings {
                let divided = self.sitting(pairs, &mut rng);
                let cost = divided.cost();
                let worse = |it: CostBetween| it.shown() == Some(true);
                let seen = [worse(cost.of_right()), worse(cost.of_late()), worse(cost.of_uneven())];
                for (sum, seen) in found.iter_mut().zip(seen.into_iter().chain([divided.counts.counted()])) {
                    *sum += f64::from(u8::from(seen)) / f64::from(sittings);
                }
            }
            found
        }
    }

    /// The figures of `benches/FIGURES.md`: `EARFIRST_LONGER=1 cargo test --lib planted_costs -- --nocapture`.
    #[test]
    fn planted_costs_are_found_in_nine_of_ten_sittings_and_none_is_made_up() {
        let longer = std::env::var_os("EARFIRST_LONGER").is_some();
        // A short draw is off by more.
        let (all, sittings, off) = if longer { (&[12, 24, 36, 48][..], 2000, 0.01) } else { (&[36][..], 150, 0.05) };
        for &pairs in all {
            let found = [
                ("no cost, numbers right in .8", NO_COST),
                ("no cost, numbers right in .9", Planted { counts: Some(0.9), ..NO_COST }),
                ("counts nothing, any number", Planted { counts: None, ..NO_COST }),
                (".35 fewer all right", Planted { wrong: 0.35, ..NO_COST }),
                ("30 ms later", Planted { late_s: 0.03, ..NO_COST }),
                ("8 ms more uneven", Planted { uneven_s: 0.008, ..NO_COST }),
            ]
            .map(|(who, player)| {
                let found = player.found(pairs, sittings);
                println!("{pairs} pairs | {who} | right, late, uneven, counted | {found:.3?}");
                found
            });
            let [none, _, guesses, wrong, late, uneven] = found;
            // Both ways one of twenty, so worse one of forty.
            assert!(none[..3].iter().all(|share| *share <= 0.04 + off), "{none:?}");
            assert!(guesses[3] <= 0.05 + off, "{guesses:?}");
            if pairs >= 36 {
                let found = [wrong[0], late[1], uneven[2], none[3]];
                assert!(found.iter().all(|share| *share >= 0.9 - off), "{pairs}: {found:?}");
            }
        }
    }

    #[test]
    fn the_interval_of_a_mean_is_the_published_one() {
        // Student's table, two-sided .05 (common practice): 5, 10 and 30 degrees of freedom.
        for (freedom, published) in [(5.0, 2.571), (10.0, 2.228), (30.0, 2.042)] {
            assert!((student(freedom) - published).abs() < 0.01, "{freedom}: {}", student(freedom));
        }
    }

    #[test]
    fn a_few_pairs_that_are_all_alike_are_not_certain() {
        let mut divided = Divided::default();
        for n in 0..16 {
            divided.enter(NO_COST.answer(u32::is_multiple_of(n, 2), 0, 0, &mut Rng::new(1)));
        }
        let cost = divided.cost();
        let (low, high) = cost.of_right().between.unwrap();
        assert!(cost.right.pairs == 8 && low < -0.1 && high > 0.1, "{low} {high}");
        assert_eq!(TaskCost::default().of_late().between, None);
    }

    #[test]
    fn three_of_four_right_numbers_are_no_guess_and_two_may_be() {
        let of = |right: u32, blocks: u32| TapCounts { right, blocks, ..TapCounts::default() }.counted();
        assert!(of(3, 4) && !of(2, 4) && !of(1, 1) && of(2, 2) && !of(0, 0) && !of(2, 6) && of(3, 6));
        let mut nine = TapCounts::default();
        nine.enter(8, Some(9));
        nine.enter(4, None);
        assert_eq!(nine, TapCounts { blocks: 2, right: 0, off: 1, unsaid: 1 });
    }
}
