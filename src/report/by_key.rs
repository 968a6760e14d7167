use std::collections::BTreeSet;

use crate::cue::Form;
use crate::music::ConcertKey;
use crate::report::judged::{Judged, counts, number, round};
use crate::session::Session;
use crate::units::{Seconds, Tempo, median, spread};
use crate::verdict::{self, TimeOrigin};

/// What became of one key.
#[derive(Debug, Clone, PartialEq)]
pub struct KeySummary {
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// Number of cues that count, those sounded again left out.
    pub cues: u32,
    /// Number of answers that count.
    pub answers: u32,
    /// Number of answers that count and were whole (all right).
    pub whole: u32,
    /// Number of right notes in the answers that count; in another key no note is right.
    pub right: u32,
    /// Number of notes expected.
    pub of: u32,
    /// Number of first tries of the key: the first answers of each day and pattern.
    pub first_tries: u32,
    /// Number of first tries that were whole (all right).
    pub first_whole: u32,
    /// Median of the paces held in answers that went up, free ones too.
    pub pace: Option<Tempo>,
    /// The quickest tempo that an answer that went up truly held, at most the one asked.
    pub reached: Option<Tempo>,
    /// Reflex times, one row for each form of cue after which one counts.
    pub reflexes: Vec<ReflexRow>,
    /// Median of early and late, for answers in tempo; above 0 is late. Where the delay of the devices was not measured, it is in the
    /// figure.
    pub late: Option<Seconds>,
}

/// Reflex times after one form of cue; only those that count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReflexRow {
    /// The form of the cue.
    pub form: Form,
    /// Number of reflex times.
    pub count: u32,
    /// Median of the reflex times.
    pub median: Seconds,
    /// Median absolute deviation of the reflex times.
    pub spread: Seconds,
}

/// One row for each key with a counted cue or a judged answer, round the circle of fifths.
pub(super) fn key_rows(sessions: &[&Session], judged: &[Judged<'_>]) -> Vec<KeySummary> {
    let mut rows: Vec<KeySummary> = ConcertKey::FIFTHS
        .into_iter()
        .filter_map(|key| {
            let trials = sessions.iter().flat_map(|session| &session.trials);
            let cues = trials.filter(|trial| trial.cue.key == key && counts(trial) && !trial.cue.repeat).count();
            let mine: Vec<Judged<'_>> = judged.iter().filter(|answer| answer.trial.cue.key == key).copied().collect();
            (cues > 0 || !mine.is_empty()).then(|| row(key, number(cues), &mine))
        })
        .collect();
    rows.sort_by_cached_key(|row| round(row.key));
    rows
}

fn row(key: ConcertKey, cues: u32, answers: &[Judged<'_>]) -> KeySummary {
    let mut tried = BTreeSet::new();
    let first: Vec<&Judged<'_>> =
        answers.iter().filter(|a| tried.insert((a.session.began.day, &a.trial.cue.pattern))).collect();
    let whole = |answer: &&Judged<'_>| answer.verdict.whole();
    let passed: Vec<&Judged<'_>> = answers.iter().filter(|answer| answer.judgement.passed()).collect();
    let paces: Vec<f64> = passed.iter().filter_map(|answer| answer.verdict.pace).map(|pace| pace.0).collect();
    let lates: Vec<f64> = answers.iter().filter_map(|answer| answer.verdict.late).map(|late| late.0).collect();
    KeySummary {
        key,
        cues,
        answers: number(answers.len()),
        whole: number(answers.iter().filter(whole).count()),
        right: sum(answers, |answer| answer.verdict.right_in_key()),
        of: sum(answers, |answer| answer.verdict.of),
        first_tries: number(first.len()),
        first_whole: number(first.iter().filter(|answer| answer.verdict.whole()).count()),
        pace: median(&paces).map(Tempo),
        reached: passed.iter().filter_map(|answer| kept_tempo(answer)).reduce(Tempo::max),
        reflexes: Form::ALL.into_iter().filter_map(|form| reflex_row(form, answers)).collect(),
        late: median(&lates).map(Seconds),
    }
}

/// The tempo an answer truly held.
pub(super) fn kept_tempo(answer: &Judged<'_>) -> Option<Tempo> {
    let heard = answer.trial.answer.as_ref().map_or(&[][..], |answer| &answer.heard);
    verdict::kept_tempo(&answer.trial.cue.line, answer.trial.cue.tempo, answer.verdict, heard)
}

/// The tempo that an answer in tempo truly held, where it went up; by it alone a key is slow or quick.
pub(super) fn best_tempo(answer: &Judged<'_>) -> Option<Tempo> {
    let in_tempo = matches!(answer.trial.answer.as_ref()?.clock, TimeOrigin::InTempo { .. });
    kept_tempo(answer).filter(|_| in_tempo && answer.judgement.passed())
}

/// A sum that a hostile record cannot overflow.
fn sum(answers: &[Judged<'_>], part: impl Fn(&Judged<'_>) -> u32) -> u32 {
    answers.iter().fold(0, |sum, answer| sum.saturating_add(part(answer)))
}

fn reflex_row(form: Form, answers: &[Judged<'_>]) -> Option<ReflexRow> {
    let mine = answers.iter().filter(|answer| answer.trial.cue.form == form);
    let counted = mine.filter_map(|answer| answer.verdict.reflex).filter(|reflex| reflex.counted);
    let times: Vec<f64> = counted.map(|reflex| reflex.time.0).collect();
    Some(ReflexRow {
        form,
        count: number(times.len()),
        median: Seconds(median(&times)?),
        spread: Seconds(spread(&times)?),
    })
}
