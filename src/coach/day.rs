use std::collections::BTreeMap;

use crate::coach::{AnswerEvidence, Goals};
use crate::cue::{Form, Timing};
use crate::units::{Seconds, Tempo, median};

/// A key holds only while the standard deviation of its reflex times is at most this share of their mean. A falling share is the
/// mark of a reflex (Segalowitz & Segalowitz 1993, Applied Psycholinguistics 14:369-385); where to draw the line is our choice.
const STEADY: f64 = 0.25;
/// Least number of reflex times that prove steadiness.
const READINGS: usize = 3;
/// A key holds where it reached its goals on two of this many latest days.
const LATEST: u32 = 3;

/// How a key holds a pattern, the weaker first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holds {
    /// In tempo: at the goal's tempo, on the beat. Nothing is known of the reflex.
    InTempo,
    /// In free answers: at the goal's tempo and reflex time, and steadily.
    Freely,
}

/// The first answer of a day, which truly shows what was learnt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstTry {
    /// Whether the answer passed.
    pub passed: bool,
    /// Number of right notes.
    pub right: u32,
    /// Number of expected notes.
    pub of: u32,
    /// The tempo asked.
    pub tempo: Tempo,
    /// The reflex time; `None` where it does not count.
    pub reflex: Option<Seconds>,
}

/// One day of one key in one pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// The calendar day, as in [`Plan::day`](crate::coach::Plan::day).
    pub day: i32,
    /// The first answer of the day, kept apart.
    pub first: FirstTry,
    /// Number of answers.
    pub answers: u32,
    /// Number of these answers that passed.
    pub passed: u32,
    /// The quickest tempo that a passed answer truly held.
    pub kept_tempo: Option<Tempo>,
    /// A form of cue, and the day's reflex times in it. A time in another form begins them anew, so they are those of the latest form.
    pub(super) reflexes: Option<(Form, ReflexTotal)>,
    /// The day's answers by the way of asking: the form of cue for free answers, `None` for answers in tempo. A day has seldom more
    /// than two ways, so they are kept in a list; a map would be ten times as large.
    pub(super) ways: Vec<(Option<Form>, AnswersOneWay)>,
}

/// Reflex times, as their number and the sum of their logarithms.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct ReflexTotal {
    /// Number of readings.
    pub(super) count: u32,
    /// Sum of log2 of the reflex times in seconds.
    pub(super) sum: f64,
}

/// A day's answers to one way of asking.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct AnswersOneWay {
    /// Whether the first of these answers passed.
    pub(super) first_passed: bool,
    /// Number of answers.
    pub(super) answers: u32,
    /// Number of these answers that passed.
    pub(super) passed: u32,
    /// The quickest tempo that a passed answer truly kept.
    pub(super) kept_tempo: Option<Tempo>,
    /// Reflex times of passed answers, seconds.
    pub(super) reflexes: Vec<f64>,
}

impl FirstTry {
    /// The calendar day of the answer, and what is kept of the answer as the day's first.
    pub(super) fn new(outcome: &AnswerEvidence) -> (i32, Self) {
        let AnswerEvidence { right, of, tempo, reflex, day, .. } = *outcome;
        (day, Self { passed: outcome.passed(), right, of, tempo, reflex })
    }
}

impl AnswersOneWay {
    fn learn(&mut self, outcome: &AnswerEvidence, reflex: Option<f64>) {
        self.answers += 1;
        if outcome.passed() {
            self.first_passed |= self.answers == 1;
            self.passed += 1;
            self.kept_tempo = quicker(self.kept_tempo, outcome.kept_tempo);
            self.reflexes.extend(reflex.map(f64::exp2));
        }
    }

    /// Whether the day reaches the goals: the first of these answers passed, or most of them did; one that passed held the goal's
    /// tempo; and, where answers are free (`freely`), those that passed have [`READINGS`] reflex times or more, whose median is within
    /// the goal's and whose spread is within [`STEADY`].
    fn reaches(&self, freely: bool, goals: &Goals) -> bool {
        let passes = self.first_passed || 2 * self.passed > self.answers;
        let reflex = || {
            let middle = median(&self.reflexes).filter(|_| self.reflexes.len() >= READINGS);
            middle.is_some_and(|time| time <= goals.reflex.0) && variation(&self.reflexes) <= STEADY
        };
        passes && goals.tempo_reached(self.kept_tempo) && (!freely || reflex())
    }
}

/// Standard deviation divided by mean.
fn variation(times: &[f64]) -> f64 {
    let n = times.len() as f64;
    let mean = times.iter().sum::<f64>() / n;
    (times.iter().map(|time| (time - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt() / mean
}

fn quicker(one: Option<Tempo>, other: Option<Tempo>) -> Option<Tempo> {
    [one, other].into_iter().flatten().reduce(Tempo::max)
}

impl Day {
    /// A day of which only the first answer is known, and not yet learnt from.
    pub(super) fn new((day, first): (i32, FirstTry)) -> Self {
        Self { day, first, answers: 0, passed: 0, kept_tempo: None, reflexes: None, ways: Vec::new() }
    }

    /// Adds an answer of this day; `reflex` is the log2 of its reflex time in seconds, where that counts.
    pub(super) fn learn(&mut self, outcome: &AnswerEvidence, reflex: Option<f64>) {
        self.answers += 1;
        if outcome.passed() {
            self.passed += 1;
            self.kept_tempo = quicker(self.kept_tempo, outcome.kept_tempo);
        }
        let way = (outcome.timing == Timing::Free).then_some(outcome.form);
        match self.ways.iter_mut().find(|(known, _)| *known == way) {
            Some((_, tried)) => tried.learn(outcome, reflex),
            None => {
                let mut tried = AnswersOneWay::default();
                tried.learn(outcome, reflex);
                self.ways.push((way, tried));
            }
        }
        if let Some(log2) = reflex {
            // Forms of cue are never mixed: a change of form begins the day's readings anew.
            let so_far = self.reflexes.filter(|(form, _)| *form == outcome.form).map(|(_, readings)| readings);
            let ReflexTotal { count, sum } = so_far.unwrap_or_default();
            self.reflexes = Some((outcome.form, ReflexTotal { count: count + 1, sum: sum + log2 }));
        }
    }

    /// The form of cue that was timed last on the day, and the geometric mean of its reflex times since the form changed last.
    #[must_use]
    pub fn reflex(&self) -> Option<(Form, Seconds)> {
        self.reflexes.map(|(form, readings)| (form, Seconds((readings.sum / f64::from(readings.count)).exp2())))
    }
}

/// How a key holds; `None` where it does not. It holds where the goals were reached, in one way of asking, on two of the three
/// latest days on which the key was answered in that way. Of two ways in which it holds the stronger one counts.
pub(super) fn hold(days: &[Day], goals: &Goals) -> Option<Holds> {
    let mut ways: BTreeMap<Option<Form>, (u32, u32)> = BTreeMap::new();
    for (way, tried) in days.iter().rev().flat_map(|day| &day.ways) {
        let (latest, reached) = ways.entry(*way).or_default();
        if *latest < LATEST {
            *latest += 1;
            *reached += u32::from(tried.reaches(way.is_some(), goals));
        }
    }
    let ways = ways.into_iter().filter(|(_, (_, reached))| *reached >= 2);
    ways.map(|(way, _)| if way.is_some() { Holds::Freely } else { Holds::InTempo }).max()
}
