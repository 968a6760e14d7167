use crate::coach::{Choice, Plan, Reason, Rng};
use crate::pattern::Register;

/// A trial: every pattern once in every key in which it fits, in an order that the seed fixes, one try each.
#[derive(Debug, Clone)]
pub(super) struct TrialOrder {
    /// What is still to come; the next one stands at the end.
    left: Vec<Choice>,
}

impl TrialOrder {
    /// The trial of a plan. Everything is asked at the plan's first tempo and in one register: the middle one, or the first of the plan
    /// where the plan lacks the middle one.
    pub fn new(plan: &Plan, seed: u64) -> Self {
        let register = if plan.registers.contains(&Register::Middle) { Some(Register::Middle) } else { None };
        let register = register.or(plan.registers.first().copied()).unwrap_or(Register::Middle);
        let (tempo, reason) = (plan.first_tempo, Reason::Turn);
        let choice = |(pattern, key): (&crate::pattern::PatternId, _)| {
            let pattern = pattern.clone();
            Choice { pattern, key, register, tempo, reason }
        };
        let mut left: Vec<Choice> = plan.pairs().map(choice).collect();
        // Every order is equally likely (Fisher and Yates, from memory).
        let mut rng = Rng::new(seed);
        for end in (1..left.len()).rev() {
            let other = (rng.uniform() * (end + 1) as f64) as usize;
            left.swap(end, other.min(end));
        }
        Self { left }
    }

    /// What comes next; `None` at the end.
    pub fn next(&mut self) -> Option<Choice> {
        self.left.pop()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::Goals;
    use crate::music::ConcertKey;
    use crate::pattern::PatternId;
    use crate::units::{Seconds, Tempo};

    #[test]
    fn everything_comes_once_in_an_order_that_the_seed_fixes() {
        let patterns = ["a", "b"].map(|id| PatternId(id.to_owned())).to_vec();
        let goals = Goals { tempo: Tempo(120.0), reflex: Seconds(0.8) };
        let plan = Plan::new(patterns, ConcertKey::FIFTHS.to_vec(), goals, 1);
        let order = |seed| {
            let mut order = TrialOrder::new(&plan, seed);
            std::iter::from_fn(move || order.next()).map(|it| (it.pattern, it.key)).collect::<Vec<_>>()
        };
        let (first, again, other) = (order(7), order(7), order(8));
        assert_eq!(first, again);
        assert_ne!(first, other);
        let mut once = first.clone();
        once.sort();
        once.dedup();
        assert_eq!((first.len(), once.len()), (24, 24));
    }
}
