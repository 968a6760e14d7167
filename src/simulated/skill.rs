use rand_chacha::ChaCha8Rng;

use crate::music::ConcertKey;
use crate::simulated::chance::PlayerDraws;

/// What a key sinks to when it is left alone for a long time, as a share of the best it ever was.
const KEPT: f64 = 0.6;
/// Days in which a fresh gain is mostly lost; a key that was practised more often lasts longer.
const FRESH_DAYS: f64 = 8.0;

/// Share of the distance to a reflex that a try that went well takes off; some thirty such tries halve it.
const TAUGHT: f64 = 0.022;
/// Share of the distance to a reflex that a try that failed takes off.
const TAUGHT_BY_FAULTS: f64 = 0.012;
/// Skill in the home key, nearly a reflex, and in the key farthest from it, hardly known.
const HOME: f64 = 0.85;
const FARTHEST: f64 = 0.1;
/// Number of tries behind a key that is a reflex; behind another key fewer, by the square of its skill.
const YEARS: f64 = 500.0;
/// Standard deviation of a key's skill: no two players have practised the same keys.
const BY_CHANCE: f64 = 0.1;

/// How well each key is known, 0 (not at all) to 1 (a reflex); it rises with every try and sinks over days.
#[derive(Debug, Clone, PartialEq)]
pub struct Skill {
    known: [f64; 12],
    best: [f64; 12],
    tries: [u32; 12],
}

impl Skill {
    /// The skill of a player who knows `easiest` to `level` (0 to 1), the key six fifths away to half of that, and those between in
    /// steps.
    #[must_use]
    pub fn around(easiest: ConcertKey, level: f64) -> Self {
        let level = level.clamp(0.0, 1.0);
        let mut known = [0.0; 12];
        for (place, share) in known.iter_mut().enumerate() {
            let apart = place.abs_diff(easiest.place());
            *share = level * (1.0 - 0.5 * apart.min(12 - apart) as f64 / 6.0);
        }
        Self { known, best: known, tries: [0; 12] }
    }
    /// The skill of a player as they come: strong round the home key, weak far from it (common practice), and uneven by chance.
    #[must_use]
    pub fn uneven(home: ConcertKey, generator: ChaCha8Rng) -> Self {
        let mut chance = PlayerDraws(generator);
        let mut known = [0.0; 12];
        for (place, share) in known.iter_mut().enumerate() {
            let apart = place.abs_diff(home.place());
            let far = apart.min(12 - apart) as f64 / 6.0;
            *share = (HOME + (FARTHEST - HOME) * far + BY_CHANCE * chance.normal()).clamp(0.03, 0.95);
        }
        Self { known, best: known, tries: known.map(|known| (YEARS * known * known) as u32) }
    }
    /// How well a key is known, 0 to 1.
    #[must_use]
    pub fn of(&self, key: ConcertKey) -> f64 {
        self.known[key.place()]
    }
    /// Enters a try: a part of what is still missing is learned, more when it went well.
    pub fn tried(&mut self, key: ConcertKey, well: bool) {
        let place = key.place();
        self.known[place] += if well { TAUGHT } else { TAUGHT_BY_FAULTS } * (1.0 - self.known[place]);
        self.best[place] = self.best[place].max(self.known[place]);
        self.tries[place] += 1;
    }
    /// Enters days without the instrument: every key sinks towards a part of its best (Ebbinghaus's curve), slower where it was
    /// tried more often.
    pub fn rested(&mut self, days: f64) {
        for place in 0..12 {
            let lasting = FRESH_DAYS * (1.0 + 0.5 * f64::from(self.tries[place]).sqrt());
            let floor = (KEPT * self.best[place]).min(self.known[place]);
            self.known[place] = floor + (self.known[place] - floor) * (-days.max(0.0) / lasting).exp();
        }
    }
}

#[cfg(test)]
mod tests {
    use rand_chacha::rand_core::SeedableRng;

    use super::*;

    #[test]
    fn keys_far_round_the_circle_are_known_less() {
        let skill = Skill::around(ConcertKey::FIFTHS[10], 0.8);
        assert!((skill.of(ConcertKey::FIFTHS[10]) - 0.8).abs() < 1e-12);
        assert!((skill.of(ConcertKey::FIFTHS[4]) - 0.4).abs() < 1e-12);
        assert!(skill.of(ConcertKey::FIFTHS[0]) > skill.of(ConcertKey::FIFTHS[1]));
    }

    #[test]
    fn no_two_players_know_the_same_keys_and_all_are_strongest_round_their_home() {
        let player = |seed| Skill::uneven(ConcertKey::FIFTHS[10], ChaCha8Rng::seed_from_u64(seed));
        assert_ne!(player(1), player(2));
        for seed in 0..50 {
            let of = |place: usize| player(seed).of(ConcertKey::FIFTHS[place]);
            let (home, far) = (of(9) + of(10) + of(11), of(3) + of(4) + of(5));
            assert!(home > far + 0.9, "seed {seed}: {home:.2} at home, {far:.2} far away");
        }
    }

    #[test]
    fn a_key_is_learned_by_trying_and_partly_forgotten_in_a_month() {
        let key = ConcertKey::FIFTHS[6];
        let mut skill = Skill::around(ConcertKey::FIFTHS[0], 0.6);
        let before = skill.of(key);
        (0..40).for_each(|_| skill.tried(key, true));
        let learned = skill.of(key);
        assert!(learned > before + 0.3, "{before} {learned}");
        skill.rested(1.0);
        let next_day = skill.of(key);
        assert!(next_day < learned && next_day > 0.85 * learned);
        skill.rested(30.0);
        assert!(skill.of(key) < 0.85 * learned && skill.of(key) > before);
    }

    #[test]
    fn what_was_practised_more_lasts_longer() {
        let (often, seldom) = (ConcertKey::FIFTHS[0], ConcertKey::FIFTHS[1]);
        let mut skill = Skill::around(ConcertKey::FIFTHS[0], 0.2);
        (0..60).for_each(|_| skill.tried(often, true));
        (0..5).for_each(|_| skill.tried(seldom, true));
        let before = (skill.of(often), skill.of(seldom));
        skill.rested(5.0);
        assert!(skill.of(often) / before.0 > skill.of(seldom) / before.1);
    }
}
