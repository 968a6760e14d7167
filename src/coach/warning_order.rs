use crate::coach::{Choice, Plan, Reason, Rng};
use crate::music::ConcertKey;
use crate::pattern::{PatternId, Register};
use crate::units::Tempo;

/// Keys and warnings in a balanced order without end. A round asks every pattern in every key once, in a drawn order, each warning
/// as often as any other, give or take one; after as many rounds as there are warnings every pattern has had each warning once
/// in every key. Nobody can guess the next key or its warning.
#[derive(Debug, Clone)]
pub struct WarningOrder {
    pairs: Vec<(PatternId, ConcertKey)>,
    warnings: Vec<u32>,
    register: Register,
    tempo: Tempo,
    rng: Rng,
    /// Index of the pair, and the warning, of each cue that is still to come of the rounds drawn; the next one stands last.
    left: Vec<(usize, u32)>,
    /// Index of the pair that came last.
    latest: Option<usize>,
}

impl WarningOrder {
    /// The order of a plan; everything is asked at the plan's first tempo and in one register, for a beat is to be the same time in
    /// every key.
    #[must_use]
    pub fn new(plan: &Plan, warnings: &[u32], seed: u64) -> Self {
        Self {
            pairs: plan.pairs().map(|(pattern, key)| (pattern.clone(), key)).collect(),
            warnings: warnings.to_vec(),
            register: plan.one_register().unwrap_or(Register::Middle),
            tempo: plan.first_tempo,
            rng: Rng::new(seed),
            left: Vec::new(),
            latest: None,
        }
    }

    /// The next choice, and how many beats before its answer is due its key is told; `None` where there is nothing to ask.
    pub fn next(&mut self) -> Option<(Choice, u32)> {
        if self.left.is_empty() {
            self.draw();
        }
        let (place, warning) = self.left.pop()?;
        self.latest = Some(place);
        let (pattern, key) = self.pairs.get(place)?.clone();
        Some((Choice { pattern, key, register: self.register, tempo: self.tempo, reason: Reason::Turn }, warning))
    }

    /// Draws as many rounds as there are warnings (a Latin square whose rows and letters are drawn; Fisher 1935, from memory).
    fn draw(&mut self) {
        let mut rank: Vec<usize> = (0..self.pairs.len()).collect();
        shuffle(&mut rank, &mut self.rng);
        let mut letters = self.warnings.clone();
        shuffle(&mut letters, &mut self.rng);
        for round in 0..letters.len() {
            let mut order: Vec<usize> = (0..self.pairs.len()).collect();
            shuffle(&mut order, &mut self.rng);
            let before = self.left.first().map(|(place, _)| *place).or(self.latest);
            if order.first().copied() == before {
                order.rotate_left(1);
            }
            let with_warning = |place: &usize| (*place, letters[(rank[*place] + round) % letters.len()]);
            self.left.splice(0..0, order.iter().rev().map(with_warning));
        }
    }
}

/// Puts items in a drawn order; every order is equally likely (Fisher and Yates, from memory).
pub(super) fn shuffle<T>(items: &mut [T], rng: &mut Rng) {
    for end in (1..items.len()).rev() {
        let other = (rng.uniform() * (end + 1) as f64) as usize;
        items.swap(end, other.min(end));
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::coach::Goals;
    use crate::units::Seconds;

    fn drawn(seed: u64, count: usize) -> Vec<(ConcertKey, u32)> {
        let goals = Goals { tempo: Tempo(120.0), reflex: Seconds(0.8) };
        let plan = Plan::new(vec![PatternId("a".to_owned())], ConcertKey::FIFTHS.to_vec(), goals, 1);
        let mut order = WarningOrder::new(&plan, &[4, 2, 1, 0], seed);
        (0..count).filter_map(|_| order.next()).map(|(choice, warning)| (choice.key, warning)).collect()
    }

    #[test]
    fn after_four_rounds_every_key_has_come_once_with_each_of_four_warnings() {
        for seed in 0..40 {
            let all = drawn(seed, 96);
            for rounds in all.chunks(48) {
                let mut seen = rounds.to_vec();
                seen.sort();
                seen.dedup();
                assert_eq!(seen.len(), 48, "seed {seed}");
            }
            for round in all.chunks(12) {
                let mut times: BTreeMap<u32, u32> = BTreeMap::new();
                round.iter().for_each(|(_, warning)| *times.entry(*warning).or_default() += 1);
                assert_eq!(times.into_values().collect::<Vec<_>>(), [3; 4], "each warning as often as the others");
            }
            assert!(all.windows(2).all(|two| two[0].0 != two[1].0), "no key twice in a row");
        }
    }

    #[test]
    fn the_seed_fixes_the_order_and_nothing_else_does() {
        assert_eq!(drawn(3, 60), drawn(3, 60));
        assert_ne!(drawn(3, 60), drawn(4, 60));
    }

    #[test]
    fn no_warning_follows_another_more_often_than_chance_has_it() {
        let mut pairs: BTreeMap<(u32, u32), u32> = BTreeMap::new();
        let all: Vec<Vec<(ConcertKey, u32)>> = (0..60).map(|seed| drawn(seed, 48)).collect();
        for one in &all {
            one.windows(2).for_each(|two| *pairs.entry((two[0].1, two[1].1)).or_default() += 1);
        }
        // There are 60 times 47 pairs of sixteen kinds: about 176 of each.
        assert!(pairs.len() == 16 && pairs.values().all(|times| (90..=270).contains(times)), "{pairs:?}");
    }
}
