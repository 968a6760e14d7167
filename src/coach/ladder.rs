//! The tempo of a key: a weighted up-down staircase (Kaernbach 1991, Perception & Psychophysics 49:227-229; from memory).
//!
//! An answer moves the tempo up, leaves it, or moves it down; the tempo settles where as much goes up as down. Rungs are log2 of
//! quarters a minute.

use crate::units::Tempo;
use crate::verdict::TempoStep;

/// How far each step moves, in octaves.
struct Moves {
    up: f64,
    /// The move up until the key's first answer that did not go up.
    run: f64,
    down: f64,
}

/// The rule by which an answer moves the tempo of its key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Rule {
    /// Up, stay, down.
    #[default]
    UpStayDown,
    /// Up or down, as records of the first format have it: up with at most one error in eight.
    UpDown,
}

impl Rule {
    /// Up by 5.7 per cent, down by 13, and 15 up until the first answer that did not go up. It settles where
    /// `up * p(up) = down * p(down)`: for eight notes, each right in .903 of the answers, .44 up, .38 stay, .18 down.
    const THREE: Moves = Moves { up: 0.08, run: 0.2, down: 0.2 };
    /// Up by 3.5 per cent with at most one error in eight (15 until the first answer that did not go up), else down by 13: it
    /// settles where four in five pass.
    const TWO: Moves = Moves { up: 0.05, run: 0.2, down: 0.2 };

    const fn moves(self) -> Moves {
        match self {
            Self::UpStayDown => Self::THREE,
            Self::UpDown => Self::TWO,
        }
    }
}

/// A key is at home at its tempo where at least this share of its tries does not go down. Below that some of its need is left.
pub const AT_HOME: f64 = 0.80;
/// The slowest tempo that is asked: a quarter = 40.
pub const SLOWEST: Tempo = Tempo(40.0);
/// A key is asked at most this many octaves beyond the goal, so that the goal itself is met with something to spare.
const BEYOND: f64 = 0.1;

/// The rung after a try at `asked` (both log2 of quarters a minute); `failed_before` says that an earlier answer of the key did not
/// go up. A try that went up at a tempo slower than the rung by the whole move proves nothing new, and one that went down at a
/// tempo quicker than the rung by the whole move takes nothing away.
pub(super) fn moved(rung: f64, asked: f64, step: TempoStep, rule: Rule, failed_before: bool) -> f64 {
    let Moves { up, run, down } = rule.moves();
    let next = match step {
        TempoStep::Up => rung.max(asked + if failed_before { up } else { run }),
        TempoStep::Stay => rung,
        TempoStep::Down => rung.min(asked - down),
    };
    next.max(SLOWEST.0.log2())
}

/// The tempo to ask from this rung, for this goal, in hundredths: what stands in a record is what was asked.
pub(super) fn tempo(rung: f64, goal: Tempo) -> Tempo {
    let asked = rung.min(goal.0.log2() + BEYOND).exp2().max(SLOWEST.0);
    Tempo((asked * 100.0).round() / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn three(rung: f64, asked: f64, step: TempoStep) -> f64 {
        moved(rung, asked, step, Rule::UpStayDown, true)
    }

    #[test]
    fn five_steps_up_make_good_two_down() {
        let mut rung = 7.0;
        for step in [
            TempoStep::Down,
            TempoStep::Up,
            TempoStep::Up,
            TempoStep::Stay,
            TempoStep::Up,
            TempoStep::Up,
            TempoStep::Up,
            TempoStep::Down,
        ] {
            rung = three(rung, rung, step);
        }
        assert!((rung - 7.0).abs() < 1e-12);
    }

    #[test]
    fn up_moves_five_per_cent_down_thirteen_and_stay_nothing() {
        let factor = |step| (three(6.0, 6.0, step) - 6.0).exp2();
        assert!((factor(TempoStep::Up) - 1.057).abs() < 5e-4 && (factor(TempoStep::Down) - 0.871).abs() < 5e-4);
        assert!((factor(TempoStep::Stay) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn slower_by_hand_moves_nothing_and_failing_faster_costs_nothing() {
        let rung = 100f64.log2();
        assert!((three(rung, 80f64.log2(), TempoStep::Up) - rung).abs() < 1e-12);
        assert!((three(rung, 130f64.log2(), TempoStep::Down) - rung).abs() < 1e-12);
        assert!(three(rung, 80f64.log2(), TempoStep::Down) < 80f64.log2());
    }

    #[test]
    fn by_the_first_format_four_passes_make_good_one_failure() {
        let mut rung = moved(7.0, 7.0, TempoStep::Down, Rule::UpDown, false);
        for _ in 0..4 {
            rung = moved(rung, rung, TempoStep::Up, Rule::UpDown, true);
        }
        assert!((rung - 7.0).abs() < 1e-12);
    }

    /// Where the ladder of a player settles whose eight notes come right each with probability 1 / (1 + e^(-2.4 - 4 (6.5 - rung))),
    /// of which the ear mishears two in a hundred: the shares of up and down.
    fn settled() -> [f64; 2] {
        let mut rng = crate::coach::Rng::new(3);
        let (mut rung, mut held, mut count) = (6.0, false, [0.0; 2]);
        for n in 0..8000 {
            let right: f64 = 1.0 / (1.0 + (-2.4f64 - 4.0 * (6.5 - rung)).exp());
            let errors = (0..8).filter(|_| (rng.uniform() < right) == (rng.uniform() < 0.02)).count() as u32;
            let step = TempoStep::of_errors(errors, 8);
            rung = moved(rung, rung, step, Rule::UpStayDown, held);
            held |= step != TempoStep::Up;
            if n >= 1000 {
                count[0] += f64::from(u8::from(step == TempoStep::Up)) / 7000.0;
                count[1] += f64::from(u8::from(step == TempoStep::Down)) / 7000.0;
            }
        }
        count
    }

    #[test]
    fn the_ladder_settles_where_five_go_up_for_two_that_go_down() {
        let [up, down] = settled();
        assert!((up - 0.45).abs() < 0.03 && (down - 0.18).abs() < 0.02, "{up:.3} up, {down:.3} down");
        assert!(1.0 - down >= AT_HOME, "{down:.3} down");
    }

    #[test]
    fn a_perfect_player_is_not_pulled_down_by_an_ear_that_mishears_one_note_in_fifty() {
        let mut rng = crate::coach::Rng::new(4);
        let mut rung = 6.0;
        for _ in 0..100 {
            let misheard = (0..8).filter(|_| rng.uniform() < 0.02).count() as u32;
            rung = three(rung, rung, TempoStep::of_errors(misheard, 8));
        }
        assert!(rung > 6.0 + 100.0 * 0.05, "{rung}");
    }
}
