use std::collections::VecDeque;

use crate::coach::{Rest, Spared};
use crate::units::Seconds;

/// How much lips and voice may sound, and when they rest. The player's settings may change these rules. Common brass teaching is to rest
/// as much as one plays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestRules {
    /// Lips and voice sound at most this share of any `window`; `None` for instruments that do not tire.
    pub share: Option<f64>,
    /// Length of the window over which the share is counted.
    pub window: Seconds,
    /// The rests and the warm-up that come by the clock.
    pub spared: Spared,
    /// Whether cues are now and then to be sung or fingered, in place of a rest where one comes.
    pub turns: bool,
}

impl RestRules {
    /// The defaults; `tires` is true for lips and voice.
    #[must_use]
    pub const fn usual(tires: bool) -> Self {
        Self { share: if tires { Some(0.5) } else { None }, window: Seconds(300.0), spared: Spared::USUAL, turns: true }
    }
}

/// Counts what was sounded and says when a rest is wanted.
#[derive(Debug, Clone)]
pub(super) struct Rests {
    rules: RestRules,
    sounded: VecDeque<(Seconds, Seconds)>,
    total: Seconds,
    planned: VecDeque<Rest>,
}

impl Rests {
    /// Nothing sounded yet; `planned` are the rests of the sitting, in order.
    pub fn new(rules: RestRules, planned: Vec<Rest>) -> Self {
        Self { rules, sounded: VecDeque::new(), total: Seconds(0.0), planned: planned.into() }
    }

    /// Enters a note of the player that sounded from `from` to `to`.
    pub fn sounded(&mut self, from: Seconds, to: Seconds) {
        if to.0 > from.0 {
            self.total = self.total + (to - from);
            self.sounded.push_back((from, to));
        }
    }

    /// Seconds of the player's own sound so far.
    pub fn total(&self) -> Seconds {
        self.total
    }

    /// How long a planned rest should last, where one is due at `at`. The call spends the rest: it is given once.
    pub fn wanted(&mut self, at: Seconds) -> Option<Seconds> {
        self.planned.pop_front_if(|rest| at >= rest.at).map(|rest| rest.length)
    }

    /// The earliest instant from `at` on (searched in steps of 0.05 s or more) at which `answer` more seconds of sound keep to the
    /// share. An answer longer than the share allows counts as one that fills it.
    pub fn earliest(&mut self, at: Seconds, answer: Seconds) -> Seconds {
        let Some(share) = self.rules.share else { return at };
        let allowed = share * self.rules.window.0;
        let mut from = at;
        loop {
            let opens = from.0 + answer.0 - self.rules.window.0;
            while self.sounded.front().is_some_and(|&(_, to)| to.0 < at.0 - self.rules.window.0) {
                self.sounded.pop_front();
            }
            let within: f64 = self.sounded.iter().map(|&(a, b)| (b.0 - a.0.max(opens)).max(0.0)).sum();
            let over = within + answer.0.min(allowed) - allowed;
            if over <= 1e-9 {
                return from;
            }
            from = Seconds(from.0 + over.max(0.05));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lips_never_sound_more_than_half_of_any_five_minutes() {
        let mut rests = Rests::new(RestRules::usual(true), Vec::new());
        let mut at = Seconds(0.0);
        let mut log: Vec<(f64, f64)> = Vec::new();
        for _ in 0..400 {
            at = rests.earliest(at, Seconds(4.0));
            rests.sounded(at, at + Seconds(4.0));
            log.push((at.0, at.0 + 4.0));
            at = at + Seconds(5.0);
        }
        for &(_, end) in &log {
            let within: f64 = log.iter().map(|&(a, b)| (b.min(end) - a.max(end - 300.0)).max(0.0)).sum();
            assert!(within <= 150.0 + 1e-6, "{within} s of the five minutes before {end}");
        }
    }

    #[test]
    fn fingers_on_keys_are_not_held_back_by_the_share() {
        let mut rests = Rests::new(RestRules::usual(false), Vec::new());
        rests.sounded(Seconds(0.0), Seconds(290.0));
        assert_eq!(rests.earliest(Seconds(291.0), Seconds(4.0)), Seconds(291.0));
    }

    #[test]
    fn a_planned_rest_is_wanted_once() {
        let planned = vec![
            Rest { at: Seconds(300.0), length: Seconds(60.0) },
            Rest { at: Seconds(1500.0), length: Seconds(300.0) },
        ];
        let mut rests = Rests::new(RestRules::usual(true), planned);
        assert_eq!(rests.wanted(Seconds(299.0)), None);
        assert_eq!(rests.wanted(Seconds(301.0)), Some(Seconds(60.0)));
        assert_eq!(rests.wanted(Seconds(1000.0)), None);
        assert_eq!(rests.wanted(Seconds(1862.0)), Some(Seconds(300.0)));
    }
}
