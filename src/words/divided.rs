//! What is said of a second task: what is counted, and what counting cost.

use crate::coach::{CostBetween, TapCounts, TaskCost};
use crate::cue::TapSound;
use crate::words::numbers::numbered;

/// Said with every cost.
pub const PRACTICE: &str = "Practice at two things at once may only make you good at these two.";

/// What is to be done in a block.
#[must_use]
pub const fn task(counted: Option<TapSound>) -> &'static str {
    match counted {
        Some(TapSound::Wood) => "count the wood, not the brush",
        Some(TapSound::Brush) => "count the brush, not the wood",
        None => "let wood and brush pass, count nothing",
    }
}

/// The question after a block.
#[must_use]
pub const fn question(counted: Option<TapSound>) -> &'static str {
    match counted {
        Some(TapSound::Brush) => "How many strokes of the brush?",
        Some(TapSound::Wood) | None => "How many knocks of wood?",
    }
}

/// The number that was given beside the one that sounded.
#[must_use]
pub fn answer(sounded: u32, said: Option<u32>) -> String {
    match said {
        Some(said) if said.min(9) == sounded.min(9) => format!("{sounded} sounded, and you counted {said}"),
        Some(said) => format!("{sounded} sounded, you counted {said}"),
        None => format!("{sounded} sounded, you gave no number"),
    }
}

/// How the numbers came out, then what counting cost, a sentence each, and last what is said with every cost; nothing before a pair of
/// answers or a number was entered.
#[must_use]
pub fn sentences(cost: &TaskCost, counts: &TapCounts) -> Vec<String> {
    if cost.right.pairs == 0 && counts.blocks == 0 {
        return Vec::new();
    }
    let mut said = vec![numbers(counts)];
    said.extend([right(&cost.of_right()), time("Later", &cost.of_late()), time("More uneven", &cost.of_uneven())]);
    said.push(PRACTICE.to_owned());
    said
}

fn numbers(counts: &TapCounts) -> String {
    let TapCounts { blocks, right, off, unsaid } = *counts;
    let mut said = format!("Taps counted: {right} of {} right", numbered(blocks as usize, "number"));
    if off > 0 {
        said.push_str(&format!(", the others off by {off} in all"));
    }
    if unsaid > 0 {
        said.push_str(&format!(", {unsaid} not given"));
    }
    if counts.counted() {
        return said + ".";
    }
    said + ": no more than guessing may get. So nobody knows that you counted, and the costs here mean nothing yet: \
            who does not count pays nothing."
}

fn right(cost: &CostBetween) -> String {
    let whole = |share: f64| format!("{:.0}", (100.0 * share).round() + 0.0);
    if let Some((low, high)) = cost.between.filter(|_| cost.mean < 0.0) {
        let more = CostBetween { mean: -cost.mean, between: Some((-high, -low)), ..*cost };
        return said("More all right while counting", &more, whole, "of 100");
    }
    said("Fewer all right while counting", cost, whole, "of 100")
}

fn time(what: &str, cost: &CostBetween) -> String {
    said(&format!("{what} while counting"), cost, |seconds| format!("{:.0}", (1000.0 * seconds).round() + 0.0), "ms")
}

/// A cost with its interval; where the pairs are too few for an interval, that is said and no cost.
fn said(what: &str, cost: &CostBetween, number: impl Fn(f64) -> String, unit: &str) -> String {
    let pairs = numbered(cost.pairs as usize, "pair");
    let Some((low, high)) = cost.between else { return format!("{what}: not known from {pairs} of answers.") };
    let shown = match cost.shown() {
        Some(true) => "",
        Some(false) => ", so less",
        None => ", so nothing is shown",
    };
    format!("{what}: {} {unit} ({} to {}{shown}; {pairs} of answers).", number(cost.mean), number(low), number(high))
}

/// A cost in a column of a table: its mean and its interval, both multiplied by `times` (100 for hundredths, 1000 for ms); where the pairs
/// are too few for an interval, "?" and their number.
#[must_use]
pub fn brief(cost: &CostBetween, times: f64) -> String {
    let number = |value: f64| format!("{:.0}", (times * value).round() + 0.0);
    match cost.between {
        Some((low, high)) => format!("{} ({} to {})", number(cost.mean), number(low), number(high)),
        None => format!("? of {}", cost.pairs),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::PairedSums;

    fn cost(pairs: u32) -> TaskCost {
        let sums = |mean: f64, spread: f64| {
            let n = f64::from(pairs);
            PairedSums { pairs, sum: n * mean, squares: n * mean * mean + (n - 1.0) * spread * spread }
        };
        TaskCost { right: sums(0.25, 0.5), late: sums(0.03, 0.04), uneven: sums(0.001, 0.01) }
    }

    #[test]
    fn a_cost_is_never_said_without_its_spread() {
        let counts = TapCounts { blocks: 4, right: 3, off: 1, unsaid: 0 };
        let said = sentences(&cost(24), &counts);
        assert_eq!(said[0], "Taps counted: 3 of 4 numbers right, the others off by 1 in all.");
        assert!(
            said[1].starts_with("Fewer all right while counting: 25 of 100 (") && said[1].contains(" to "),
            "{said:?}"
        );
        assert_eq!(said[2], "Later while counting: 30 ms (13 to 47; 24 pairs of answers).");
        assert!(said[3].contains("so nothing is shown") && said[4] == PRACTICE, "{said:?}");
        assert_eq!(sentences(&cost(5), &counts)[2], "Later while counting: not known from 5 pairs of answers.");
    }

    #[test]
    fn a_cost_below_half_a_millisecond_is_none_and_has_no_sign() {
        let cost = CostBetween { pairs: 6, mean: -0.0003, between: Some((-0.005, 0.004)) };
        assert_eq!(brief(&cost, 1000.0), "0 (-5 to 4)");
        assert!(time("More uneven", &cost).starts_with("More uneven while counting: 0 ms (-5 to 4"));
    }

    #[test]
    fn who_does_not_count_is_told_that_nothing_is_known() {
        let guesses = TapCounts { blocks: 4, right: 1, off: 9, unsaid: 0 };
        assert!(sentences(&cost(24), &guesses)[0].contains("who does not count pays nothing"));
        assert!(sentences(&TaskCost::default(), &TapCounts::default()).is_empty());
    }
}
