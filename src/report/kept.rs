//! What was still there after a time away: first answers after a week and after a month, and keys that were held out of practice.

use std::collections::BTreeSet;

use crate::music::{ConcertKey, Mode};
use crate::report::figures::{AnswerFigures, SittingFigures};
use crate::report::judged::number;
use crate::report::takes::RetentionCheck;
use crate::report::weeks::WEEK;
use crate::units::{Seconds, median};

/// Days from which a key was away for a month; with fewer, from seven on, it was away for a week.
const MONTH: i32 = 30;

/// First answers of keys that came back after a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeptAfter {
    /// Smallest number of days away.
    pub days: i32,
    /// Number of first tries that were all right.
    pub whole: u32,
    /// Number of tries.
    pub tries: u32,
}

/// A key that was held out of practice and asked once a week.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldOutKeySummary {
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The mode of its latest pattern, by which it is spelled.
    pub mode: Mode,
    /// The day until which the key is held out, days since 1970-01-01, as its latest cue had it.
    pub until: i32,
    /// The answers to the key.
    pub tries: TrySummary,
    /// The first answers of the keys that were practised, on the same days and in the same patterns.
    pub others: TrySummary,
}

/// Figures of some answers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrySummary {
    /// Number of answers that were all right.
    pub whole: u32,
    /// Number of answers.
    pub tries: u32,
    /// Median of their reflex times.
    pub reflex: Option<Seconds>,
}

impl TrySummary {
    fn of<'a>(answers: impl Iterator<Item = &'a AnswerFigures>) -> Self {
        let answers: Vec<&AnswerFigures> = answers.collect();
        let times: Vec<f64> = answers.iter().filter_map(|answer| answer.reflex).map(|time| time.0).collect();
        Self {
            whole: number(answers.iter().filter(|answer| answer.whole).count()),
            tries: number(answers.len()),
            reflex: median(&times).map(Seconds),
        }
    }
}

/// First answers after a week or more away, under a month, and after a month or more.
pub(super) fn kept(back: &[RetentionCheck]) -> [KeptAfter; 2] {
    let of = |from: i32, under: i32| {
        let mine = || back.iter().filter(|check| (from..under).contains(&check.days));
        KeptAfter {
            days: from,
            whole: number(mine().filter(|check| check.whole).count()),
            tries: number(mine().count()),
        }
    };
    [of(WEEK, MONTH), of(MONTH, i32::MAX)]
}

/// The keys that were held out, round the circle of fifths; the sittings are in the order of time.
pub(super) fn held_out(sittings: &[SittingFigures]) -> Vec<HeldOutKeySummary> {
    let answers: Vec<(i32, &AnswerFigures)> =
        sittings.iter().flat_map(|it| it.answers.iter().map(move |answer| (it.began.day, answer))).collect();
    let of_key = |key: ConcertKey| {
        let mine: Vec<(i32, &AnswerFigures)> =
            answers.iter().filter(|(_, answer)| answer.key == key && answer.held_out.is_some()).copied().collect();
        let (_, latest) = *mine.last()?;
        let when: BTreeSet<_> = mine.iter().map(|(day, answer)| (*day, &answer.pattern)).collect();
        let mut tried = BTreeSet::new();
        let others = answers.iter().filter(|(day, answer)| {
            let here = when.contains(&(*day, &answer.pattern)) && answer.held_out.is_none() && answer.key != key;
            here && tried.insert((*day, &answer.pattern, answer.key.place()))
        });
        Some(HeldOutKeySummary {
            key,
            mode: latest.mode,
            until: latest.held_out?,
            tries: TrySummary::of(mine.iter().map(|(_, answer)| *answer)),
            others: TrySummary::of(others.map(|(_, answer)| *answer)),
        })
    };
    ConcertKey::FIFTHS.into_iter().filter_map(of_key).collect()
}
