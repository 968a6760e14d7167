//! How little time is enough: how often an answer whose key was told late was right and on its beat.

use std::collections::BTreeMap;

use crate::units::share_interval;

/// A warning is enough where at least this share of the answers to it is right.
const STAYS_RIGHT: f64 = 0.8;

/// Fewer answers than this rule no warning out: whoever is right in .8 fails once in five times.
const TOO_FEW: u32 = 3;

/// Answers to cues whose key was told late, counted by warning. With time to prepare a response may be thought out; a habit shows
/// where there is none (Hardwick, Forrence, Krakauer & Haith 2019, Nature Human Behaviour 3).
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Warned(BTreeMap<u32, (u32, u32)>);

/// The answers after one warning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WarnedShare {
    /// Beats between the moment at which the key was given and the moment at which the answer was due.
    pub warning: u32,
    /// Number of answers that were all right and on their beat.
    pub right: u32,
    /// Number of answers; something else and silence count as answers that were not right.
    pub of: u32,
    /// Bounds of the true share of right answers: it lies between them in 95 of 100 such counts.
    pub between: (f64, f64),
}

/// Bounds of the shortest warning with which .8 of the answers are right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShortestWarning {
    /// The shortest warning is this or longer, in beats; `None` where no warning that was asked can be enough.
    pub no_shorter_than: Option<u32>,
    /// The shortest warning is this or shorter, in beats; `None` where the answers do not show any to be enough.
    pub no_longer_than: Option<u32>,
}

impl Warned {
    /// Enters one answer.
    pub fn enter(&mut self, warning: u32, right: bool) {
        self.enter_all(warning, u32::from(right), 1);
    }

    /// Enters `of` answers, of which `right` were right.
    pub fn enter_all(&mut self, warning: u32, right: u32, of: u32) {
        let (hits, tries) = self.0.entry(warning).or_default();
        *hits = hits.saturating_add(right);
        *tries = tries.saturating_add(of);
    }

    /// One row for each warning, the longest first.
    #[must_use]
    pub fn shares(&self) -> Vec<WarnedShare> {
        let share = |(warning, (right, of)): (&u32, &(u32, u32))| WarnedShare {
            warning: *warning,
            right: *right,
            of: *of,
            between: share_interval(*right, *of),
        };
        self.0.iter().rev().map(share).collect()
    }

    /// The shortest warning that is enough, as far as the answers tell. Warnings are gone through from the longest, up to the first
    /// that fails: whoever fails with more time is not right with less.
    #[must_use]
    pub fn shortest(&self) -> ShortestWarning {
        let down_to = |enough: fn(&WarnedShare) -> bool| {
            self.shares().iter().take_while(|share| enough(share)).last().map(|share| share.warning)
        };
        ShortestWarning {
            no_shorter_than: down_to(|share| share.of < TOO_FEW || share.between.1 >= STAYS_RIGHT),
            no_longer_than: down_to(|share| share.between.0 >= STAYS_RIGHT),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counted(rows: &[(u32, u32, u32)]) -> Warned {
        let mut warned = Warned::default();
        for (warning, right, of) in rows {
            (0..*of).for_each(|n| warned.enter(*warning, n < *right));
        }
        warned
    }

    #[test]
    fn who_needs_two_beats_is_told_so_once_the_answers_show_it() {
        let many = counted(&[(4, 30, 30), (2, 29, 30), (1, 9, 30), (0, 1, 30)]);
        assert_eq!(many.shortest(), ShortestWarning { no_shorter_than: Some(2), no_longer_than: Some(2) });
        assert_eq!(many.shares().iter().map(|share| share.warning).collect::<Vec<_>>(), [4, 2, 1, 0]);
    }

    #[test]
    fn three_right_answers_show_nothing_yet() {
        let few = counted(&[(4, 3, 3), (2, 3, 3), (1, 2, 3), (0, 0, 3)]);
        assert_eq!(few.shortest(), ShortestWarning { no_shorter_than: Some(1), no_longer_than: None });
        let share = few.shares()[0];
        assert!(share.between.0 < 0.5 && share.between.1 > 0.99, "{share:?}");
    }

    #[test]
    fn one_answer_that_fails_rules_nothing_out() {
        let one = counted(&[(4, 1, 1), (2, 0, 1), (1, 0, 2), (0, 0, 1)]);
        assert_eq!(one.shortest(), ShortestWarning { no_shorter_than: Some(0), no_longer_than: None });
    }

    #[test]
    fn sixteen_answers_all_right_show_eight_of_ten_and_fifteen_do_not() {
        assert_eq!(counted(&[(2, 16, 16)]).shortest().no_longer_than, Some(2));
        assert_eq!(counted(&[(2, 15, 15)]).shortest().no_longer_than, None);
    }

    #[test]
    fn who_fails_with_every_warning_has_none_that_is_enough() {
        assert_eq!(
            counted(&[(4, 2, 20), (0, 0, 20)]).shortest(),
            ShortestWarning { no_shorter_than: None, no_longer_than: None }
        );
    }
}
