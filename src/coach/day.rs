use crate::coach::{Goals, Outcome};
use crate::cue::Form;
use crate::units::{Seconds, Tempo};

/// A key holds only while its reflex times keep together: standard deviation over mean. Segalowitz & Segalowitz (1993,
/// Applied Psycholinguistics 14:369-385) take a falling ratio as the mark of a reflex; about .25 is meant, and a handful of
/// readings scatters about it.
const STEADY: f64 = 0.35;
/// Fewer readings than this say nothing of steadiness.
const READINGS: u32 = 3;
/// Tempi are shown in whole quarters a minute: this much under the goal still reads as the goal.
const ROUNDING: f64 = 0.5;
/// It must hold on two of this many latest days.
const LATEST: usize = 3;

/// The first answer of a day: the true probe of what was learnt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstTry {
    /// It passed.
    pub passed: bool,
    /// Notes right.
    pub right: u32,
    /// Notes expected.
    pub of: u32,
    /// Tempo asked.
    pub tempo: Tempo,
    /// Reflex time, where it counts.
    pub reflex: Option<Seconds>,
}

/// One day of one key in one pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// Which day.
    pub day: i32,
    /// The first answer, kept apart.
    pub first: FirstTry,
    /// Answers.
    pub answers: u32,
    /// Of these, passed.
    pub passed: u32,
    /// The fastest tempo at which one passed.
    pub fastest: Option<Tempo>,
    reflexes: Option<(Form, Readings)>,
}

/// Count, sum and sum of squares of log2 of reflex times.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Readings {
    count: u32,
    sum: f64,
    squares: f64,
}

impl FirstTry {
    pub(super) fn new(outcome: &Outcome) -> (i32, Self) {
        let Outcome { passed, right, of, tempo, reflex, day, .. } = *outcome;
        (day, Self { passed, right, of, tempo, reflex })
    }
}

impl Readings {
    fn mean(self) -> f64 {
        self.sum / f64::from(self.count)
    }
    fn with(self, other: Self) -> Self {
        Self { count: self.count + other.count, sum: self.sum + other.sum, squares: self.squares + other.squares }
    }
    /// Standard deviation over mean of log-normal times, `sqrt(exp(s^2) - 1)` with `s` in natural logarithms.
    fn variation(self) -> f64 {
        let n = f64::from(self.count);
        let variance = ((self.squares - self.sum * self.sum / n) / (n - 1.0)).max(0.0);
        (variance * std::f64::consts::LN_2.powi(2)).exp_m1().sqrt()
    }
}

impl Day {
    pub(super) fn new((day, first): (i32, FirstTry)) -> Self {
        Self { day, first, answers: 0, passed: 0, fastest: None, reflexes: None }
    }

    pub(super) fn learn(&mut self, outcome: &Outcome, reflex: Option<f64>) {
        self.answers += 1;
        if outcome.passed {
            self.passed += 1;
            self.fastest = Some(self.fastest.map_or(outcome.tempo, |tempo| tempo.max(outcome.tempo)));
        }
        if let Some(log2) = reflex {
            // Forms of cue are never mixed: a change of form begins the day's readings anew.
            let so_far = self.reflexes.filter(|(form, _)| *form == outcome.form).map(|(_, readings)| readings);
            let one = Readings { count: 1, sum: log2, squares: log2 * log2 };
            self.reflexes = Some((outcome.form, so_far.unwrap_or_default().with(one)));
        }
    }

    /// The middle of the day's reflex times (geometric mean), in the form of cue it ended with.
    #[must_use]
    pub fn reflex(&self) -> Option<(Form, Seconds)> {
        self.reflexes.map(|(form, readings)| (form, Seconds(readings.mean().exp2())))
    }

    /// It passed at the goal's tempo that day, and the day's reflex times, where there are any, met the goal.
    #[must_use]
    pub fn reached(&self, goals: &Goals) -> bool {
        let pace = self.fastest.is_some_and(|tempo| tempo.0 >= goals.tempo.0 - ROUNDING);
        pace && self.reflex().is_none_or(|(_, time)| time.0 <= goals.reflex.0)
    }
}

/// Whether a key holds: the goal reached on two of its three latest days, and reflex times that keep together on those.
pub(super) fn hold(days: &[Day], goals: &Goals) -> bool {
    let latest = &days[days.len().saturating_sub(LATEST)..];
    let reached: Vec<&Day> = latest.iter().filter(|day| day.reached(goals)).collect();
    let Some(form) = reached.last().map(|day| day.reflexes.map(|(form, _)| form)) else { return false };
    let readings = reached.iter().filter_map(|day| day.reflexes).filter(|(of, _)| Some(*of) == form);
    let all = readings.fold(Readings::default(), |sum, (_, one)| sum.with(one));
    reached.len() >= 2 && (all.count < READINGS || all.variation() <= STEADY)
}
