//! A key held out of practice, asked once a week: does what was learnt in the others carry over to it?

use crate::coach::{Choice, HeldOut, LearnerModel, Plan, Reason, ladder};
use crate::music::ConcertKey;
use crate::pattern::{PatternId, Register};
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
        let middle = plan.registers.contains(&Register::Middle).then_some(Register::Middle);
        let register = middle.or_else(|| plan.registers.first().copied())?;
        let days = self.last_day[key.place()].map(|last| plan.day.saturating_sub(last));
        Some(Choice { pattern: pattern.clone(), key, register, tempo, reason: Reason::HeldOut { days, until } })
    }
}
