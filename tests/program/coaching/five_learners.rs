//! Five kinds of learner, made after different theories of how playing is learnt and forgotten. All five are guesses; a result that is
//! the same for all of them may be trusted a little. The theories are Newell and Rosenbloom 1981 (power law), Corbett and Anderson 1995
//! (steps that are known or not), Cepeda and others 2006 (spacing), Shea and Morgan 1979 (mixed practice lasts longer), all from
//! memory. The formulas and their numbers were chosen when the coach was planned.
//!
//! A skill is a tempo, in octaves above a quarter = 60, at which a pattern of eight notes comes out whole in half of the tries.

use crate::chance::Chance;

/// The number of notes of the pattern.
pub const NOTES: u32 = 8;
/// The tempo of the goal, in octaves above a quarter = 60. `GOAL_REFLEX` is the reflex time of the goal, in seconds, and `GOAL_WHOLE` the
/// share of answers that have to be whole.
pub const GOAL_OCTAVES: f64 = 1.415_037_499_278_844; // log2(160 / 60)
const GOAL_REFLEX: f64 = 0.8;
const GOAL_WHOLE: f64 = 0.8;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    PowerLaw,
    Steps,
    HalfLife,
    Interference,
    /// As `HalfLife`, but practice mixed with other keys teaches more; besides, two keys are learnt slowly, one is an octave of tempo
    /// better at the start, and the player tires after twelve minutes.
    Stubborn,
}

pub const KINDS: [Kind; 5] = [Kind::PowerLaw, Kind::Steps, Kind::HalfLife, Kind::Interference, Kind::Stubborn];

/// The share of notes that come out right, 0 to 1; skill and tempo are in octaves above a quarter = 60.
pub fn right_notes(skill: f64, tempo: f64) -> f64 {
    1.0 / (1.0 + (-2.4 - 4.0 * (skill - tempo)).exp())
}

/// Median reflex time in seconds.
pub fn reflex(skill: f64) -> f64 {
    0.35 + 1.6 * (-1.2 * skill).exp2()
}

/// Whether a skill meets the goal in tempo and reflex.
pub fn owned(skill: f64) -> bool {
    right_notes(skill, GOAL_OCTAVES).powi(NOTES as i32) >= GOAL_WHOLE && reflex(skill) <= GOAL_REFLEX
}

/// The share, 0 to 1, of what is learnt in one key that another key gains too. Keys are places on the circle of fifths: a key a fifth away
/// gains most, keys a half step or a whole step away little, the others least.
fn transfer(one: usize, other: usize) -> f64 {
    let apart = one.abs_diff(other);
    match apart.min(12 - apart) {
        0 => 1.0,
        1 => 0.15,
        2 => 0.05,
        5 => 0.06,
        _ => 0.02,
    }
}

pub struct Learner {
    kind: Kind,
    chance: Chance,
    at_first: [f64; 12],
    rate: [f64; 12],
    /// What was learnt in each key: for the power law the amount of practice, for the steps their number, for the other kinds the gain in
    /// octaves.
    learnt: [f64; 12],
    /// With a half-life, the share of what was learnt in each key that is not forgotten, 0 to 1. With interference, a gain in octaves
    /// that fades within minutes and is gone tomorrow. The other kinds do not use this.
    there: [f64; 12],
    /// The days in which half of what was learnt is forgotten, by key.
    half_life: [f64; 12],
    minutes_today: f64,
    tries_today: u32,
    last_try: [Option<u32>; 12],
}

impl Learner {
    pub fn new(kind: Kind, seed: u64) -> Self {
        let mut chance = Chance::new(seed);
        // Few accidentals are easier (common practice); players differ as a whole and key by key.
        let easy = [0.55, 0.45, 0.25, 0.1, -0.1, -0.35, -0.5, -0.45, -0.2, 0.1, 0.4, 0.5];
        let (whole, quick) = (chance.normal(0.15), chance.normal(0.15));
        let mut at_first = easy.map(|easy| easy + chance.normal(0.25) + whole);
        let mut rate = [(); 12].map(|()| (chance.normal(0.25) + quick).exp());
        let mut half_life = rate.map(|rate: f64| 1.2 * rate.sqrt());
        if kind == Kind::Stubborn {
            let places: Vec<usize> = (0..12).collect();
            let [one, other, known] = chance.some(&places, 3)[..] else { unreachable!("three of twelve") };
            rate[one] *= 0.4;
            rate[other] *= 0.4;
            at_first[known] += 1.0;
            half_life = [1.6; 12];
        }
        let there = if matches!(kind, Kind::HalfLife | Kind::Stubborn) { [1.0; 12] } else { [0.0; 12] };
        let (learnt, last_try) = ([0.0; 12], [None; 12]);
        Self { kind, chance, at_first, rate, learnt, there, half_life, minutes_today: 0.0, tries_today: 0, last_try }
    }

    fn skill(&self, key: usize) -> f64 {
        self.at_first[key]
            + match self.kind {
                Kind::PowerLaw => 0.62 * self.rate[key].sqrt() * (1.0 + self.learnt[key] / 6.0).log2(),
                Kind::Steps => 0.35 * self.learnt[key],
                Kind::HalfLife | Kind::Stubborn => self.learnt[key] * self.there[key],
                Kind::Interference => self.learnt[key] + self.there[key],
            }
    }

    /// The skill in a key tomorrow, if nothing more is played today.
    pub fn tomorrow(&self, key: usize) -> f64 {
        match self.kind {
            Kind::PowerLaw => self.skill(key),
            Kind::Steps => self.at_first[key] + 0.35 * self.learnt[key] * (1.0 - 0.012),
            Kind::HalfLife | Kind::Stubborn => {
                self.at_first[key] + self.learnt[key] * self.there[key] * (-1.0 / self.half_life[key]).exp2()
            }
            Kind::Interference => self.at_first[key] + self.learnt[key] * (1.0 - 0.01),
        }
    }

    /// Plays once in a key at a tempo (octaves above a quarter = 60), and learns by it. Returns the number of right notes and the reflex
    /// time in seconds.
    pub fn play(&mut self, key: usize, tempo: f64) -> (u32, f64) {
        let tired = if self.kind == Kind::Stubborn { 0.012 * (self.minutes_today - 12.0).max(0.0) } else { 0.0 };
        let skill = self.skill(key) - tired;
        let share = right_notes(skill, tempo);
        let right = (0..NOTES).filter(|_| self.chance.happens(share)).count() as u32;
        let time = reflex(skill) * self.chance.normal(0.25).exp();
        self.learn(key, tempo);
        (right, time)
    }

    fn learn(&mut self, key: usize, tempo: f64) {
        let skill = self.skill(key);
        // Whole answers teach, those far below one's skill little.
        let gain = right_notes(skill, tempo).powi(NOTES as i32) * (-(skill - tempo).max(0.0)).exp();
        let between = self.last_try[key]
            .map_or(f64::from(self.tries_today) + 98.0, |last| f64::from(self.tries_today - last) - 1.0);
        let mixed = 1.0 - (-between / 2.0).exp();
        for other in 0..12 {
            let own = gain * transfer(key, other);
            self.take_in(other, own, mixed);
        }
        if self.kind == Kind::Interference {
            self.there[key] += 0.25 * gain * (1.0 - 0.6 * mixed) * (0.9 - self.there[key]);
        }
        self.last_try[key] = Some(self.tries_today);
        self.tries_today += 1;
    }

    fn take_in(&mut self, key: usize, own: f64, mixed: f64) {
        let rate = self.rate[key];
        match self.kind {
            Kind::PowerLaw => self.learnt[key] += own * rate,
            Kind::Steps => {
                let step = f64::from(u8::from(self.chance.happens(0.16 * own * rate)));
                self.learnt[key] = (self.learnt[key] + step).min(9.0);
            }
            Kind::HalfLife => self.take_in_for_days(key, own),
            Kind::Stubborn => self.take_in_for_days(key, own * (0.45 + 0.55 * mixed)),
            Kind::Interference => {
                self.learnt[key] += 0.030 * own * (0.2 + 0.8 * mixed) * rate * (3.0 - self.learnt[key]);
            }
        }
    }

    fn take_in_for_days(&mut self, key: usize, own: f64) {
        self.learnt[key] += 0.030 * own * self.rate[key] * (3.2 - self.learnt[key]);
        // What had faded and is played again lasts longer.
        let faded = own * (1.0 - self.there[key]);
        self.half_life[key] = (self.half_life[key] * (1.0 + 1.6 * faded) + 0.012 * own).min(90.0);
        self.there[key] = (self.there[key] + 0.6 * faded).min(1.0);
    }

    pub fn minutes_go_by(&mut self, minutes: f64) {
        self.minutes_today += minutes;
        if self.kind == Kind::Interference {
            self.there.iter_mut().for_each(|quick| *quick *= (-minutes / 6.0).exp());
        }
    }

    pub fn sleep(&mut self) {
        (self.minutes_today, self.tries_today, self.last_try) = (0.0, 0, [None; 12]);
        for key in 0..12 {
            match self.kind {
                Kind::PowerLaw => {}
                Kind::Steps => {
                    let lost = f64::from(u8::from(self.chance.happens(0.06)));
                    self.learnt[key] = (self.learnt[key] - lost).max(0.0);
                }
                Kind::HalfLife | Kind::Stubborn => self.there[key] *= (-1.0 / self.half_life[key]).exp2(),
                Kind::Interference => {
                    self.there[key] = 0.0;
                    self.learnt[key] *= 1.0 - 0.01;
                }
            }
        }
    }
}
