use std::collections::BTreeSet;

use crate::pattern::PatternId;
use crate::report::judged::{Judged, number};
use crate::units::{Seconds, Tempo, median};

/// What became of one pattern, over all keys.
#[derive(Debug, Clone, PartialEq)]
pub struct PatternSummary {
    /// The pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub title: String,
    /// Number of keys with an answer that counts.
    pub keys: u32,
    /// Number of answers that count.
    pub answers: u32,
    /// Number of answers that count and were whole (all right).
    pub whole: u32,
    /// Number of right notes, in the key that was asked.
    pub right: u32,
    /// Number of notes expected.
    pub of: u32,
    /// Number of first tries of the pattern: the first answers of each day and key.
    pub first_tries: u32,
    /// Number of first tries that were whole (all right).
    pub first_whole: u32,
    /// Median of the paces held in answers in tempo that went up.
    pub pace: Option<Tempo>,
    /// Median reflex time of the free answers that count.
    pub reflex: Option<Seconds>,
}

/// One row for each pattern, in the order of their first answers.
pub(super) fn pattern_rows(judged: &[Judged<'_>]) -> Vec<PatternSummary> {
    let mut patterns: Vec<&PatternId> = Vec::new();
    for answer in judged {
        if !patterns.contains(&&answer.trial.cue.pattern) {
            patterns.push(&answer.trial.cue.pattern);
        }
    }
    let of = |pattern: &PatternId| judged.iter().filter(|it| it.trial.cue.pattern == *pattern).collect::<Vec<_>>();
    patterns.into_iter().map(|pattern| row(pattern, &of(pattern))).collect()
}

fn row(pattern: &PatternId, answers: &[&Judged<'_>]) -> PatternSummary {
    let keys: BTreeSet<usize> = answers.iter().map(|answer| answer.trial.cue.key.place()).collect();
    let mut tried = BTreeSet::new();
    let first: Vec<&&Judged<'_>> =
        answers.iter().filter(|a| tried.insert((a.session.began.day, a.trial.cue.key.place()))).collect();
    let sum = |of: fn(&Judged<'_>) -> u32| answers.iter().fold(0u32, |sum, answer| sum.saturating_add(of(answer)));
    let middle = |of: fn(&Judged<'_>) -> Option<f64>| {
        median(&answers.iter().filter_map(|answer| of(answer)).collect::<Vec<f64>>())
    };
    PatternSummary {
        pattern: pattern.clone(),
        title: answers.first().map_or_else(|| pattern.0.clone(), |answer| answer.trial.cue.title.clone()),
        keys: number(keys.len()),
        answers: number(answers.len()),
        whole: number(answers.iter().filter(|answer| answer.verdict.whole()).count()),
        right: sum(|answer| answer.verdict.right_in_key()),
        of: sum(|answer| answer.verdict.of),
        first_tries: number(first.len()),
        first_whole: number(first.iter().filter(|answer| answer.verdict.whole()).count()),
        pace: middle(|answer| answer.pace()).map(Tempo),
        reflex: middle(|answer| answer.reflex()).map(Seconds),
    }
}
