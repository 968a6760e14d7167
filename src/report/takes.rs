use std::cmp::Ordering;

use crate::music::{ConcertKey, Intonation, Mode, instrument};
use crate::report::figures::{AnswerFigures, SittingFigures};
use crate::report::judged::Judged;
use crate::units::{Cents, Seconds};
use crate::verdict::TempoStep;

/// Number of best answers, and of worst ones, that are named.
const NAMED: usize = 3;

/// An answer worth listening to.
#[derive(Debug, Clone, PartialEq)]
pub struct Take {
    /// Index of its sitting in the part.
    pub sitting: usize,
    /// Number of the cue.
    pub cue: u32,
    /// Instant at which the cue began to sound.
    pub at: Seconds,
    /// Plain name of the pattern.
    pub title: String,
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The mode of the pattern, by which the key is spelled.
    pub mode: Mode,
    /// Number of right notes.
    pub right: u32,
    /// Number of notes expected.
    pub of: u32,
    /// The sentence that was shown.
    pub sentence: String,
    /// What the answer did to the tempo of its key; `None` in records of the first format.
    pub step: Option<TempoStep>,
    /// Where the sound of the answer lies in the stored sound: first sample, and number of samples.
    pub sound: Option<(u64, u64)>,
    /// Instant at which the answer begins in the stored sound.
    pub sound_at: Option<Seconds>,
    /// Whether the answer came from a MIDI instrument, as notes.
    pub by_midi: bool,
}

/// A key that came back after a day or more.
#[derive(Debug, Clone, PartialEq)]
pub struct RetentionCheck {
    /// Plain name of the pattern.
    pub title: String,
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The mode of the pattern, by which the key is spelled.
    pub mode: Mode,
    /// Number of days since the key was last asked.
    pub days: i32,
    /// Whether the first try was whole.
    pub whole: bool,
    /// Number of right notes at the first try.
    pub right: u32,
    /// Number of notes expected.
    pub of: u32,
}

/// At most three whole answers in tune that did not begin too soon: those that stood still before the fewest notes first, then the
/// quickest tempo asked; among equals the shortest reflex time that counts, then the evenest.
pub(super) fn best(judged: &[Judged<'_>]) -> Vec<Take> {
    let mut whole: Vec<&Judged<'_>> = judged.iter().filter(|a| a.verdict.whole() && waited(a) && in_tune(a)).collect();
    let reflex = |answer: &Judged<'_>| answer.reflex().unwrap_or(f64::INFINITY);
    let uneven = |answer: &Judged<'_>| answer.verdict.evenness.unwrap_or(f64::INFINITY);
    whole.sort_by(|a, b| {
        let (quick, slow) = (b.trial.cue.tempo.0, a.trial.cue.tempo.0);
        let stood = a.verdict.stood.len().cmp(&b.verdict.stood.len());
        stood.then(quick.total_cmp(&slow)).then(reflex(a).total_cmp(&reflex(b))).then(uneven(a).total_cmp(&uneven(b)))
    });
    whole.into_iter().take(NAMED).map(take).collect()
}

/// Whether the answer is in tune: its offset, and every note against the other notes, lie within what passes without a word at the
/// player's level.
fn in_tune(answer: &Judged<'_>) -> bool {
    let began = &answer.session.began;
    let scored = instrument(&began.instrument).map(|instrument| instrument.at(began.level).intonation);
    let Ok(Intonation::Scored { acceptable, .. }) = scored else { return true };
    let within = |cents: Option<Cents>| cents.is_none_or(|cents| cents.abs() <= acceptable);
    within(answer.verdict.centre) && answer.verdict.expected.iter().all(|note| within(note.cents))
}

/// Whether the answer did not come before the cue could have been taken in.
pub(super) fn waited(answer: &Judged<'_>) -> bool {
    answer.verdict.reflex.is_none_or(|reflex| !reflex.jumped)
}

/// At most three answers that were not whole, the smallest share of right notes first; among equals the one with more extra notes,
/// then the later one.
pub(super) fn worst(judged: &[Judged<'_>]) -> Vec<Take> {
    let mut short: Vec<&Judged<'_>> = judged.iter().filter(|answer| !answer.verdict.whole()).collect();
    short.sort_by(|a, b| share(a, b).then(b.verdict.extra.cmp(&a.verdict.extra)).then(order(b, a)));
    short.into_iter().take(NAMED).map(take).collect()
}

fn share(a: &Judged<'_>, b: &Judged<'_>) -> Ordering {
    let share = |answer: &Judged<'_>| f64::from(answer.verdict.right_in_key()) / f64::from(answer.verdict.of.max(1));
    share(a).total_cmp(&share(b))
}

fn order(a: &Judged<'_>, b: &Judged<'_>) -> Ordering {
    (a.sitting, a.trial.cue.number).cmp(&(b.sitting, b.trial.cue.number))
}

fn take(answer: &Judged<'_>) -> Take {
    let cue = &answer.trial.cue;
    let sound = answer.trial.answer.as_ref().and_then(|heard| heard.sound);
    let rate = answer.session.began.rate.per_second();
    Take {
        sitting: answer.sitting,
        cue: cue.number,
        at: answer.trial.at,
        title: cue.title.clone(),
        key: cue.key,
        mode: cue.spelling.mode,
        right: answer.verdict.right_in_key(),
        of: answer.verdict.of,
        sentence: answer.judgement.sentence.clone(),
        step: answer.judgement.step,
        sound,
        sound_at: sound.map(|(first, _)| Seconds(first as f64 / rate)),
        by_midi: answer.session.began.by_midi,
    }
}

/// The first answers of keys that had not been asked for a day or more, longest away first.
pub(super) fn back(sittings: &[SittingFigures]) -> Vec<RetentionCheck> {
    let answers = sittings.iter().flat_map(|sitting| &sitting.answers);
    let check = |answer: &AnswerFigures| {
        Some(RetentionCheck {
            title: answer.title.clone(),
            key: answer.key,
            mode: answer.mode,
            days: answer.away?,
            whole: answer.whole,
            right: answer.right,
            of: answer.of,
        })
    };
    let mut back: Vec<RetentionCheck> = answers.filter_map(check).collect();
    back.sort_by_cached_key(|back| -i64::from(back.days));
    back
}
