use crate::music::ConcertKey;

/// What a key sinks to when it is left alone for a long time, as a share of the best it ever was.
const KEPT: f64 = 0.45;
/// Days in which a fresh gain is mostly lost; a key that was practised more often lasts longer.
const FRESH_DAYS: f64 = 4.0;

/// How well each key is known, 0 (not at all) to 1 (a reflex); it rises with every try and sinks over days.
#[derive(Debug, Clone, PartialEq)]
pub struct Skill {
    known: [f64; 12],
    best: [f64; 12],
    tries: [u32; 12],
}

impl Skill {
    /// `easiest` is known to `level` (0 to 1), the key six fifths away to half of that, and those between in steps.
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
    /// How well a key is known, 0 to 1.
    #[must_use]
    pub fn of(&self, key: ConcertKey) -> f64 {
        self.known[key.place()]
    }
    /// A try: a part of what is still missing is learned, more when it went well.
    pub fn tried(&mut self, key: ConcertKey, well: bool) {
        let place = key.place();
        self.known[place] += if well { 0.06 } else { 0.035 } * (1.0 - self.known[place]);
        self.best[place] = self.best[place].max(self.known[place]);
        self.tries[place] += 1;
    }
    /// Days without the instrument: every key sinks towards a part of its best (Ebbinghaus's curve), slower where it was
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
    use super::*;

    #[test]
    fn keys_far_round_the_circle_are_known_less() {
        let skill = Skill::around(ConcertKey::FIFTHS[10], 0.8);
        assert!((skill.of(ConcertKey::FIFTHS[10]) - 0.8).abs() < 1e-12);
        assert!((skill.of(ConcertKey::FIFTHS[4]) - 0.4).abs() < 1e-12);
        assert!(skill.of(ConcertKey::FIFTHS[0]) > skill.of(ConcertKey::FIFTHS[1]));
    }

    #[test]
    fn a_key_is_learned_by_trying_and_half_forgotten_in_a_month() {
        let key = ConcertKey::FIFTHS[6];
        let mut skill = Skill::around(ConcertKey::FIFTHS[0], 0.6);
        let before = skill.of(key);
        (0..20).for_each(|_| skill.tried(key, true));
        let learned = skill.of(key);
        assert!(learned > before + 0.3, "{before} {learned}");
        skill.rested(1.0);
        let next_day = skill.of(key);
        assert!(next_day < learned && next_day > 0.85 * learned);
        skill.rested(30.0);
        assert!(skill.of(key) < 0.6 * learned);
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
