use std::collections::{BTreeMap, BTreeSet};

use crate::music::{self, ConcertKey, Intonation};
use crate::report::by_key::best_tempo;
use crate::report::called::called;
use crate::report::comments::comment_head;
use crate::report::in_use::{freely_sentences, used_sentences};
use crate::report::judged::{Judged, judged, number};
use crate::report::kept_text::kept_sentences;
use crate::report::lately::{best_lately, third_last};
use crate::report::log::by_ear;
use crate::report::page::chosen::{at_best, chosen, to_hear_again};
use crate::report::page::head;
use crate::report::page::page_data::{KeyLine, KeyMeasure, KeyTable, PitchLine, TeacherPage};
use crate::report::review::{InstrumentReview, Review, review_on};
use crate::report::steadiness_text::steadiness_line;
use crate::report::traded_text::phrase_sentences;
use crate::report::warning_text::{by_ear_sentence, in_time_sentences};
use crate::report::weeks;
use crate::report::whose::together;
use crate::session::Session;
use crate::units::median;
use crate::words::numbers::capital;
use crate::words::{self, Page};

/// One page for each player and instrument, in the order in which [`review`](crate::report::review) names the parts. An instrument
/// that this program does not know has no page: its keys cannot be written.
#[must_use]
pub fn gather(sessions: &[Session]) -> Vec<TeacherPage> {
    pages(sessions, None).into_iter().flatten().collect()
}

/// The data of all pages, with a place for every part of the review. Where `today` is given, weeks end with it, and time away goes on until
/// then.
pub(in crate::report) fn pages(sessions: &[Session], today: Option<i32>) -> Vec<Option<TeacherPage>> {
    let Review { parts } = review_on(sessions, today);
    let groups = together(sessions);
    let players: Vec<_> = parts.iter().map(|part| part.player.as_ref()).collect();
    let with = |(part, group): (&InstrumentReview, &Vec<usize>)| {
        page(part, called(part.player.as_ref(), &players), group, sessions, today)
    };
    parts.iter().zip(&groups).map(with).collect()
}

fn page(
    part: &InstrumentReview,
    called: String,
    group: &[usize],
    sessions: &[Session],
    today: Option<i32>,
) -> Option<TeacherPage> {
    let instrument = music::instrument(&part.instrument).ok()?;
    let names = Page::new(instrument.clone(), part.reading);
    let answers: Vec<Judged<'_>> =
        group.iter().enumerate().flat_map(|(sitting, index)| judged(sitting, &sessions[*index])).collect();
    let take = |answer: &Judged<'_>| chosen(answer, &names, group[answer.sitting]);
    let tables: Vec<KeyTable> = [KeyMeasure::Reflex(names.reading.reflex), KeyMeasure::Pace]
        .into_iter()
        .filter_map(|measure| table(measure, &answers, &names, part))
        .collect();
    let steady = part.steadiness.as_ref().filter(|it| it.all.spread.is_some()).map(steadiness_line);
    let rounds: Vec<(u32, u32)> = part.sittings.iter().flat_map(|sitting| sitting.rounds.iter().copied()).collect();
    let scored = matches!(instrument.intonation, Intonation::Scored { .. });
    Some(TeacherPage {
        player: match (&part.player, part.simulated) {
            (None, true) => "The simulated player".to_owned(),
            (Some(_), true) => format!("{called} (simulated)"),
            (Some(player), false) if !player.name.is_empty() => called,
            (_, false) => capital(&called),
        },
        instrument: instrument.name.clone(),
        facts: head::facts(part, &answers, today),
        week: part
            .weeks
            .as_ref()
            .map(|it| weeks::sentence(it, &weeks::seven_days(it[0].until), |time| names.reflex(time))),
        sentence: head::sentence(&tables),
        comments: part.comments.iter().map(|row| (comment_head(row, &names), row.text.clone())).collect(),
        work_on: head::work_on(part, &tables, &names),
        pitches: (part.pitches.iter().rev())
            .filter(|_| scored)
            .map(|row| PitchLine { name: names.pitch(row.pitch), row: *row, half: row.spread })
            .collect(),
        firm: kept_sentences(&part.kept, &part.held_out, &names)
            .into_iter()
            .chain(in_time_sentences(part.warnings.last(), &rounds))
            .chain(by_ear_sentence(by_ear(part.sittings.iter().map(|sitting| sitting.by_ear))))
            .chain(part.second_task.iter().flat_map(|it| words::divided::sentences(&it.all, &it.counts)))
            .chain(steady)
            .collect(),
        tables,
        again: to_hear_again(&answers).iter().map(take).collect(),
        best: at_best(&answers, instrument).iter().map(take).collect(),
        drilled: !answers.is_empty(),
        went_wrong: phrase_sentences(&part.phrases, part.sittings.len() > 1),
        in_use: used_sentences(&part.in_use, &names),
        came_out: freely_sentences(&part.in_use, &names),
        played_freely: group.iter().rev().copied().find(|index| !sessions[*index].choruses.is_empty()),
        choruses: Vec::new(),
    })
}

/// The value of an answer in a measure: a reflex time that counts, or the pace of an answer in tempo that went up.
fn value(measure: KeyMeasure, answer: &Judged<'_>) -> Option<f64> {
    match measure {
        KeyMeasure::Reflex(_) => answer.reflex(),
        KeyMeasure::Pace => answer.pace(),
    }
}

fn table(measure: KeyMeasure, answers: &[Judged<'_>], page: &Page, part: &InstrumentReview) -> Option<KeyTable> {
    let mode = part.mode;
    let today = answers.last()?.session.began.day;
    let measured: Vec<(&Judged<'_>, f64)> =
        answers.iter().filter_map(|answer| Some((answer, value(measure, answer)?))).collect();
    let days: BTreeSet<i32> = measured.iter().map(|(answer, _)| answer.session.began.day).collect();
    let (first, last) = (*days.first()?, *days.last()?);
    let third = days.len().div_ceil(3);
    let early: BTreeSet<i32> = days.iter().copied().take(if days.len() > 1 { third } else { 0 }).collect();
    let late: BTreeSet<i32> = days.iter().rev().copied().take(third).collect();
    let practised = third_last(answers.iter().map(|answer| answer.session.began.day));
    let goals = measured.last()?.0.session.began.goals;
    let mut lines: Vec<(usize, KeyLine)> = Vec::new();
    let mut missing: Vec<(usize, String)> = Vec::new();
    for key in ConcertKey::FIFTHS {
        let of_key: Vec<&Judged<'_>> = answers.iter().filter(|answer| answer.trial.cue.key == key).collect();
        let values: Vec<(i32, f64)> = measured
            .iter()
            .filter(|(answer, _)| answer.trial.cue.key == key)
            .map(|(answer, value)| (answer.session.began.day, *value))
            .collect();
        if of_key.is_empty() && fits_no_pattern(part, key) {
            continue;
        }
        if of_key.is_empty() {
            missing.push((page.place(key), page.key(key, mode)));
            continue;
        }
        let held_out = part.held_out.iter().any(|it| it.key == key && it.until > today);
        let latest = of_key.iter().map(|answer| answer.session.began.day).max();
        let left_since = latest.filter(|day| !held_out && practised.is_some_and(|since| *day < since));
        let best = if measure.is_time() { None } else { best(&of_key) };
        let line = line(&page.key(key, mode), &of_key, &values, &early, &late);
        lines.push((page.place(key), KeyLine { held_out, left_since, best, ..line }));
    }
    lines.sort_by_cached_key(|(place, _)| *place);
    missing.sort();
    let goal = match measure {
        KeyMeasure::Reflex(_) => goals.reflex.0,
        KeyMeasure::Pace => goals.tempo.0,
    };
    let (lines, missing) = (lines.into_iter().map(|(_, line)| line), missing.into_iter().map(|(_, name)| name));
    Some(KeyTable { measure, goal, days: (first, last), missing: missing.collect(), lines: lines.collect() })
}

/// Whether the latest sitting asked for nothing in a key, because no pattern fits the player's range there: it cannot be practised.
fn fits_no_pattern(part: &InstrumentReview, key: ConcertKey) -> bool {
    let latest = part.sittings.last();
    latest.is_some_and(|sitting| sitting.out_of_range.iter().any(|it| it.others == 0 && it.keys.contains(&key)))
}

/// The quickest tempo that a key held in tempo on the latest three days on which it was answered.
fn best(answers: &[&Judged<'_>]) -> Option<f64> {
    let held = |answer: &&Judged<'_>| (answer.session.began.day, best_tempo(answer).map(|tempo| tempo.0));
    best_lately(&answers.iter().map(held).collect::<Vec<_>>())
}

fn line(
    name: &str,
    answers: &[&Judged<'_>],
    values: &[(i32, f64)],
    early: &BTreeSet<i32>,
    late: &BTreeSet<i32>,
) -> KeyLine {
    let over = |days: &BTreeSet<i32>| {
        median(&values.iter().filter(|(day, _)| days.contains(day)).map(|(_, value)| *value).collect::<Vec<_>>())
    };
    let mut by_day: BTreeMap<i32, Vec<f64>> = BTreeMap::new();
    for (day, value) in values {
        by_day.entry(*day).or_default().push(*value);
    }
    let mut tried = BTreeSet::new();
    let tries: Vec<bool> = answers
        .iter()
        .filter(|answer| tried.insert((answer.session.began.day, &answer.trial.cue.pattern)))
        .map(|answer| answer.verdict.whole())
        .collect();
    let sum = |of: fn(&Judged<'_>) -> u32| answers.iter().fold(0u32, |sum, answer| sum.saturating_add(of(answer)));
    KeyLine {
        name: name.to_owned(),
        held_out: false,
        first: over(early),
        last: over(late),
        best: None,
        left_since: None,
        days: by_day.into_iter().filter_map(|(day, values)| Some((day, median(&values)?))).collect(),
        first_tries: (number(tries.iter().filter(|whole| **whole).count()), number(tries.len())),
        right: (sum(|answer| answer.verdict.right_in_key()), sum(|answer| answer.verdict.of)),
        answers: number(answers.len()),
    }
}
