//! Whether reflex times grew steadier than they grew quick: their spread over their middle, at first and at last. A player who only grows
//! quicker keeps that ratio, for all times shrink alike; where it falls, the way from the ear to the hand has become another one
//! (Segalowitz & Segalowitz 1993, Applied Psycholinguistics 14:369-385).
//!
//! A player who is still growing quicker, or changes the pattern, would look unsteady. So **steps** are taken: a step is the distance of
//! the logarithms of a reflex time that counts and of the one before it of the same key, pattern and form of cue. The steps of a key
//! stand in the order of time; from 24 steps on there is a first third and a last (rounded down). **Spread**: the middle step of a third
//! over the root of 2 (which is the spread over the middle of times that do not drift); for all keys together, of all their thirds.
//!
//! **Fell by more than growing quicker explains**: reported from 360 steps on (a key by itself: 720), where the delay of the devices was
//! known in every sitting with such a time. Each time is taken less .15 s, which no practice shortens (.03 s at least is left), or
//! growing quicker alone would look like steadiness. In each key with n steps in a third, each step of the first third is compared with
//! each of the last, and w counts where it is longer. A fall is reported where sum((w - n²/2) / (2n + 1)) / sqrt(sum(n² / (12 (2n + 1))))
//! / 1.2 is more than 1.645 (a key by itself: 2.64, for there are twelve); the sums go over the keys. How often that is right:
//! `steadiness_tests.rs`.

use std::collections::BTreeMap;

use crate::cue::Form;
use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::report::figures::{AnswerFigures, SittingFigures};
use crate::report::judged::number;
use crate::units::median;

/// Time that no answer can be quicker than, in seconds: to hear that a sound ended and to begin one (about .15 s, common knowledge of
/// simple reactions to sound).
const FIXED: f64 = 0.15;
/// Smallest time, also after `FIXED` was taken off it, in seconds.
const LEAST: f64 = 0.03;
/// Smallest number of steps of which thirds are taken.
const SHOWN: usize = 24;
/// Number of steps, over all keys, from which a fall can be reported: a spread that halves is then found .8 of the time
/// (`steadiness_tests.rs`).
pub(super) const NEEDED: usize = 360;
/// Number of steps from which a fall can be reported for one key by itself.
pub(super) const NEEDED_A_KEY: usize = 720;
/// Bound of the test over all keys (a normal quantile): chance alone is reported one time in twenty.
const BAR: f64 = 1.645;
/// Bound of the test of one key by itself (a normal quantile): of twelve keys, chance alone has any reported one time in twenty.
const BAR_A_KEY: f64 = 2.64;
/// Factor by which the ranks scatter more because two neighbouring steps share a time (found by the same simulation).
const ALIKE: f64 = 1.2;

/// How steady the reflex times of one player on one instrument are.
#[derive(Debug, Clone, PartialEq)]
pub struct Steadiness {
    /// One entry for each key with a step, round the circle of fifths.
    pub keys: Vec<(ConcertKey, StepsCompared)>,
    /// All keys together.
    pub all: StepsCompared,
    /// Whether the delay of the devices is out of every time; where it is in some, nothing is said of a fall.
    pub calibrated: bool,
}

/// The steps of one key or of all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepsCompared {
    /// Number of steps.
    pub steps: u32,
    /// Spread over the middle, in the first third of the times and in the last; `None` where there are too few times.
    pub spread: Option<[f64; 2]>,
    /// Whether the spread fell by more than growing quicker explains; `None` where that cannot be known.
    pub fell: Option<bool>,
}

/// The step from one time to the next of the same line.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Step {
    /// The step between the times themselves, from which the shown spread is made.
    whole: f64,
    /// The step between the times less what no practice shortens.
    beyond: f64,
}

/// How steady the times of these sittings are, which come in the order of time; `None` where no time follows another.
pub(super) fn steadiness(sittings: &[SittingFigures]) -> Option<Steadiness> {
    let timed = |sitting: &SittingFigures| sitting.answers.iter().any(|answer| answer.reflex.is_some());
    let calibrated = sittings.iter().filter(|it| timed(it)).all(|it| it.began.delay.is_some());
    let keys = steps(sittings.iter().flat_map(|sitting| &sitting.answers));
    let thirds: Vec<[&[Step]; 2]> = keys.iter().filter_map(|(_, steps)| thirds(steps)).collect();
    let all = keys.iter().map(|(_, steps)| steps.len()).sum::<usize>();
    let together = StepsCompared {
        steps: number(all),
        spread: spread(&thirds),
        fell: if calibrated && all >= NEEDED { fell(&thirds, BAR) } else { None },
    };
    let of_key = |(key, steps): &(ConcertKey, Vec<Step>)| {
        let mine: Vec<[&[Step]; 2]> = self::thirds(steps).into_iter().collect();
        let enough = calibrated && steps.len() >= NEEDED_A_KEY;
        let fell = if enough { fell(&mine, BAR_A_KEY) } else { None };
        (*key, StepsCompared { steps: number(steps.len()), spread: spread(&mine), fell })
    };
    (all > 0).then(|| Steadiness { keys: keys.iter().map(of_key).collect(), all: together, calibrated })
}

/// The steps of each key that has one, in the order of time.
fn steps<'a>(answers: impl Iterator<Item = &'a AnswerFigures>) -> Vec<(ConcertKey, Vec<Step>)> {
    let mut before: BTreeMap<(usize, &PatternId, Form), f64> = BTreeMap::new();
    let mut keys: BTreeMap<usize, (ConcertKey, Vec<Step>)> = BTreeMap::new();
    for answer in answers {
        let Some(time) = answer.reflex.map(|time| time.0.max(LEAST)) else { continue };
        let place = answer.key.place();
        if let Some(last) = before.insert((place, &answer.pattern, answer.form), time) {
            keys.entry(place).or_insert_with(|| (answer.key, Vec::new())).1.push(step(last, time));
        }
    }
    keys.into_values().collect()
}

fn step(one: f64, next: f64) -> Step {
    let beyond = |time: f64| (time - FIXED).max(LEAST);
    Step { whole: (next / one).ln().abs(), beyond: (beyond(next) / beyond(one)).ln().abs() }
}

/// The first third and the last, where there are enough steps.
fn thirds(steps: &[Step]) -> Option<[&[Step]; 2]> {
    let third = steps.len() / 3;
    (steps.len() >= SHOWN).then(|| [&steps[..third], &steps[steps.len() - third..]])
}

/// The spread over the middle, at first and at last, of all these keys together.
fn spread(thirds: &[[&[Step]; 2]]) -> Option<[f64; 2]> {
    let of = |end: usize| {
        let steps = thirds.iter().flat_map(|both| both[end]);
        Some(median(&steps.map(|step| step.whole).collect::<Vec<_>>())? / std::f64::consts::SQRT_2)
    };
    Some([of(0)?, of(1)?])
}

/// Whether the steps at first are the longer ones, by their ranks within each key (Mann & Whitney 1947; keys together by van Elteren
/// 1960; from memory).
fn fell(keys: &[[&[Step]; 2]], bar: f64) -> Option<bool> {
    let (mut sum, mut variance) = (0.0, 0.0);
    for [first, last] in keys {
        let longer = |one: &Step| last.iter().map(|other| f64::from(one.beyond > other.beyond)).sum::<f64>();
        let (n, m) = (first.len() as f64, last.len() as f64);
        let weight = n + m + 1.0;
        sum += (first.iter().map(longer).sum::<f64>() - n * m / 2.0) / weight;
        variance += n * m / (12.0 * weight);
    }
    (variance > 0.0).then(|| sum / variance.sqrt() / ALIKE > bar)
}

#[cfg(test)]
#[path = "steadiness_tests.rs"]
mod tests;
