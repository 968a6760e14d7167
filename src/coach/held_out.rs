//! A key held out of practice, asked once a week: does what was learnt in the others carry over to it?

use crate::coach::{Choice, HeldOut, LearnerModel, Plan, Reason, ladder};
use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::units::median;

/// Days from one try to the next.
const WEEK: i32 = 7;

impl LearnerModel {
    /// Days until a key that is held out is asked next; 0 where it is due today.
    #[must_use]
    pub fn held_out_for(&self, plan: &Plan, key: ConcertKey) -> i32 {
        let since = self.last_day[key.place()].map_or(WEEK, |last| plan.day.saturating_sub(last));
        WEEK.saturating_sub(since).max(0)
    }

    /// The choice of the first held-out key that is due and in which a known pattern fits; `None` where there is none. It is asked in
    /// the pattern that was answered most, in the middle register where that is asked, and at the median tempo of the keys that are
    /// practised, so that whatever the key lacks is its own.
    pub(super) fn held_out(&self, plan: &Plan, patterns: &[&PatternId]) -> Option<Choice> {
        let due = |it: &&HeldOut| self.held_out_for(plan, it.key) == 0;
        plan.held_out.iter().filter(due).find_map(|held_out| self.weekly(plan, patterns, *held_out))
    }

    fn weekly(&self, plan: &Plan, patterns: &[&PatternId], held_out: HeldOut) -> Option<Choice> {
        let HeldOut { key, until } = held_out;
        let answers = |pattern: &&PatternId| self.patterns.get(pattern).map_or(0, |rows| rows.answers);
        let known = patterns.iter().filter(|pattern| self.met(pattern) && !plan.out_of_range.contains(pattern, key));
        let pattern = known.copied().max_by_key(answers)?;
        let rows = self.patterns.get(pattern)?;
        let rungs: Vec<f64> = plan.keys_of(pattern).iter().filter_map(|key| rows.keys[key.place()].rung).collect();
        let tempo = ladder::tempo(median(&rungs).unwrap_or_else(|| plan.first_tempo.0.log2()), plan.goals.tempo);
        let register = plan.one_register()?;
        let days = self.last_day[key.place()].map(|last| plan.day.saturating_sub(last));
        Some(Choice { pattern: pattern.clone(), key, register, tempo, reason: Reason::HeldOut { days, until } })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::{Goals, OutOfRange, Rng};
    use crate::units::{Seconds, Tempo};

    #[test]
    fn a_pattern_that_fits_in_held_out_keys_alone_keeps_no_other_new_pattern_from_its_turn() {
        let [high, row] = ["high", "row"].map(|name| PatternId(name.to_owned()));
        let goals = Goals { tempo: Tempo(160.0), reflex: Seconds(0.8) };
        let mut plan = Plan::new(vec![high.clone(), row.clone()], ConcertKey::FIFTHS.to_vec(), goals, 1);
        let out = ConcertKey::FIFTHS[8];
        let others = ConcertKey::FIFTHS.into_iter().filter(|key| *key != out);
        plan.out_of_range = others.map(|key| (high.clone(), key)).collect::<OutOfRange>();
        plan.hold_out(&[HeldOut { key: out, until: 30 }]);
        let (mut learner, mut rng) = (LearnerModel::new(), Rng::new(3));
        let first = learner.choose(&plan, &mut rng).unwrap();
        assert!(first.pattern == row && matches!(first.reason, Reason::Meeting { left: 3 }), "{first:?}");
        for _ in 0..60 {
            let choice = learner.choose(&plan, &mut rng).unwrap();
            assert!(choice.pattern == row || choice.key == out, "{choice:?}");
        }
    }
}
