//! The tempo of a key: a weighted up-down staircase (Kaernbach 1991, Perception & Psychophysics 49:227-229; from memory).
//!
//! It settles where a try passes with probability p, since there `UP * p = DOWN * (1 - p)`. Rungs are log2 of quarters a minute.

use crate::units::Tempo;

/// The share of passes the ladder settles at.
pub const SHARE: f64 = 0.80;
/// A pass moves up by a twentieth of an octave, 3.5 per cent.
const UP: f64 = 0.05;
/// A failure moves down by a fifth of an octave, 13 per cent: `UP * SHARE / (1 - SHARE)`.
const DOWN: f64 = UP * SHARE / (1.0 - SHARE);
/// Until a key's first failure the ladder runs up quickly.
const RUN: f64 = 4.0 * UP;
/// No slower than a quarter = 40.
pub const SLOWEST: Tempo = Tempo(40.0);
/// Up to a tenth of an octave beyond the goal, so that the goal itself is met with something to spare.
const BEYOND: f64 = 0.1;

/// The rung after a try at `asked` (both log2 of quarters a minute).
///
/// A pass at a tempo slower than the rung proves nothing new, and a failure faster than it takes nothing away.
pub(super) fn step(rung: f64, asked: f64, passed: bool, failed_before: bool) -> f64 {
    let next = if passed { rung.max(asked + if failed_before { UP } else { RUN }) } else { rung.min(asked - DOWN) };
    next.max(SLOWEST.0.log2())
}

/// The tempo to ask from this rung, for this goal, in hundredths: what stands in a record is what was asked.
pub(super) fn tempo(rung: f64, goal: Tempo) -> Tempo {
    let asked = rung.min(goal.0.log2() + BEYOND).exp2().max(SLOWEST.0);
    Tempo((asked * 100.0).round() / 100.0)
}

/// Whether an answer of `of` notes passes with this many errors: one in eight is forgiven, since an ear that mishears one
/// note in fifty would fail a perfect player too often.
#[must_use]
pub const fn passes(errors: u32, of: u32) -> bool {
    errors <= (of + 3) / 8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_a_first_failure_four_passes_make_good_one_failure() {
        let start = 72f64.log2();
        let mut rung = step(start, start, false, false);
        for _ in 0..4 {
            rung = step(rung, rung, true, true);
        }
        assert!((rung - start).abs() < 1e-12);
    }

    #[test]
    fn a_pass_moves_three_and_a_half_per_cent_and_a_failure_thirteen() {
        let up = step(6.0, 6.0, true, true) - 6.0;
        let down = 6.0 - step(6.0, 6.0, false, true);
        assert!((up.exp2() - 1.035).abs() < 5e-4 && (1.0 - (-down).exp2() - 0.13).abs() < 1e-3);
    }

    #[test]
    fn slower_by_hand_passes_without_moving_the_key_and_failing_faster_costs_nothing() {
        let rung = 100f64.log2();
        assert!((step(rung, 80f64.log2(), true, true) - rung).abs() < 1e-12);
        assert!((step(rung, 130f64.log2(), false, true) - rung).abs() < 1e-12);
        assert!(step(rung, 80f64.log2(), false, true) < 80f64.log2());
    }

    #[test]
    fn one_wrong_note_in_eight_is_forgiven_and_none_in_four() {
        for (of, errors) in [(4, 0), (5, 1), (8, 1), (12, 1), (13, 2), (16, 2), (20, 2), (21, 3)] {
            assert!(passes(errors, of) && !passes(errors + 1, of), "{of} notes");
        }
    }

    #[test]
    fn the_ladder_settles_where_four_tries_in_five_pass() {
        // A player who passes with probability 1 / (1 + 2^(8 (x - 6.5))): at .80 the rung is 6.25 (by that formula).
        let mut dice = crate::coach::Dice::new(3);
        let (mut rung, mut failed, mut sum) = (6.0, false, 0.0);
        for n in 0..4000 {
            let passed = dice.throw() < 1.0 / (1.0 + (8.0 * (rung - 6.5f64)).exp2());
            rung = step(rung, rung, passed, failed);
            failed |= !passed;
            sum += if n >= 1000 { rung } else { 0.0 };
        }
        assert!((sum / 3000.0 - 6.25).abs() < 0.03, "{}", sum / 3000.0);
    }
}
