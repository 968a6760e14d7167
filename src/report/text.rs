use std::fmt::Write;

use crate::cue::Form;
use crate::music::Mode;
use crate::report::by_key::KeySummary;
use crate::report::by_pattern::PatternSummary;
use crate::report::by_second_task::second_task_table;
use crate::report::called::{called, who_plays};
use crate::report::comments::{CommentRow, comment_words};
use crate::report::date::date;
use crate::report::in_use::used_lines;
use crate::report::kept_text::kept_lines;
use crate::report::lines::{line, wrapped};
use crate::report::part_page::page;
use crate::report::review::{InstrumentReview, Review, SittingRow};
use crate::report::run_text::work_on;
use crate::report::run_words::drift_words;
use crate::report::steadiness_text::steadiness_table;
use crate::report::takes::RetentionCheck;
use crate::report::takes_text::{notes_right, takes};
use crate::report::traded_text::phrase_lines;
use crate::report::tuning::{ALL, OFTEN, PitchRow, RARE, WAYS, hint};
use crate::report::warning_text::warning_table;
use crate::report::weeks::{self, WEEK};
use crate::units::{Cents, Seconds, Tempo};
use crate::words::numbers::{capital, listed, numbered, signed};
use crate::words::{self, Page, wrap};

/// Largest number of keys that came back and are listed; the rest is only counted.
const BACK: usize = 12;

/// A review in plain text of at most 80 columns, as the player reads keys and notes, for the terminal and for `review.txt`.
#[must_use]
pub fn to_text(review: &Review) -> String {
    to_text_under(review, &[], None)
}

/// The review as text, as [`to_text`], with the sentences of `first` below the title of each part; and how long before `today` the last of
/// its sittings was.
pub(super) fn to_text_under(review: &Review, first: &[Vec<String>], today: Option<i32>) -> String {
    let mut number = 1;
    let mut parts = Vec::new();
    let players: Vec<_> = review.parts.iter().map(|part| part.player.as_ref()).collect();
    for (index, it) in review.parts.iter().enumerate() {
        let above = Above { first: first.get(index).map_or(&[][..], Vec::as_slice), today };
        parts.push(part(it, &called(it.player.as_ref(), &players), &above, number));
        number += it.best.len() + it.worst.len();
    }
    if parts.is_empty() { "Nothing was asked yet.\n".to_owned() } else { parts.join("\n\n") }
}

/// Instrument and pitch, as they stand above a part.
pub(super) fn title(id: &str, page: &Page, known: bool) -> String {
    let name = if known { page.instrument.name.as_str() } else { id };
    format!("{} ({})", capital(name), pitch(page))
}

/// What stands above the figures of a part besides what the records say.
struct Above<'a> {
    /// What to work on.
    first: &'a [String],
    /// The day on which the review is read, where it is known.
    today: Option<i32>,
}

/// The text of one part; `number` is the number of its first answer to listen to.
fn part(part: &InstrumentReview, called: &str, above: &Above<'_>, number: usize) -> String {
    let Some((page, known)) = page(&part.instrument, part.reading) else { return String::new() };
    let mut text = String::new();
    let out = &mut text;
    heading(out, &title(&part.instrument, &page, known), called, above, &page, part);
    comments(out, &part.comments, &page);
    let mut keys: Vec<&KeySummary> = part.keys.iter().collect();
    keys.sort_by_cached_key(|row| page.place(row.key));
    key_table(out, &keys, part.mode, &page);
    pattern_table(out, &part.patterns, &page);
    warning_table(out, &part.warnings, part.mode, &page);
    second_task_table(out, part.second_task.as_ref());
    reflex_table(out, &keys, part.mode, &page, part.sittings.iter().all(|sitting| sitting.calibrated));
    part.steadiness.iter().for_each(|it| steadiness_table(out, it, part.mode, &page));
    let many = part.sittings.len() > 1;
    phrase_lines(out, &part.phrases, many);
    used_lines(out, &part.in_use, &page);
    takes(out, "Best answers", number, &part.best, &page, many);
    takes(out, "Answers to listen to again", number + part.best.len(), &part.worst, &page, many);
    recurring(out, &part.recurring);
    came_back(out, &part.back, &page);
    kept_lines(out, &part.kept, &part.held_out, &page);
    intonation(out, part, &page, known);
    text
}

/// Comments stand before the figures, because a person wrote them to be read.
fn comments(out: &mut String, comments: &[CommentRow], page: &Page) {
    if !comments.is_empty() {
        line(out, "");
        line(out, "Comments");
        comments.iter().for_each(|it| wrapped(out, "  ", &comment_words(it, page)));
    }
}

fn pitch(page: &Page) -> &'static str {
    if page.reading.concert { "as it sounds" } else { "written pitch" }
}

fn heading(out: &mut String, title: &str, called: &str, above: &Above<'_>, page: &Page, part: &InstrumentReview) {
    let who = who_plays(part.player.as_ref(), part.simulated, called);
    wrapped(out, "", &format!("{title}, {who}"));
    for (sentence, number) in above.first.iter().zip(1..) {
        wrapped(out, "  ", &format!("{number}. {sentence}"));
    }
    if let Some(weeks) = &part.weeks {
        wrapped(out, "", &weeks::sentence(weeks, &weeks::seven_days(weeks[0].until), |time| page.reflex(time)));
    }
    if let Some(sentence) = above.today.and_then(|today| long_ago(&part.sittings, today)) {
        wrapped(out, "", &sentence);
    }
    for sitting in part.sittings.iter().rev().take(10).rev() {
        wrapped(out, "  ", &sitting_words(sitting));
    }
    if part.sittings.len() > 10 {
        line(out, &format!("  and {} sittings before", part.sittings.len() - 10));
    }
    let mut out_of_range: Vec<String> = Vec::new();
    for misfit in part.sittings.iter().flat_map(|sitting| &sitting.out_of_range) {
        let sentence = words::fit::sentence(misfit, |key| page.key(key, part.mode));
        if !out_of_range.contains(&sentence) {
            out_of_range.push(sentence);
        }
    }
    out_of_range.iter().for_each(|sentence| wrapped(out, "  ", sentence));
}

/// How long ago the last of several sittings was, from a week on. There may be later ones that are not reviewed here.
fn long_ago(sittings: &[SittingRow], today: i32) -> Option<String> {
    let last = sittings.last().filter(|_| sittings.len() > 1)?.day;
    let days = today.saturating_sub(last);
    let ago = numbered(days.unsigned_abs() as usize, "day");
    (days >= WEEK).then(|| format!("The last of these sittings was {ago} ago, on {}.", date(last)))
}

/// Rests, and the cues of a drill, the phrases of a trade or its free choruses.
fn rests_and_cues(sitting: &SittingRow) -> String {
    let rests = match (sitting.rests, numbered(sitting.rests as usize, "rest")) {
        (0, _) => "no rest".to_owned(),
        (1, rests) => format!("{rests} of {}", long(sitting.resting)),
        (_, rests) => format!("{rests}, {} in all", long(sitting.resting)),
    };
    let (asked, answered, whole) = (numbered(sitting.cues as usize, "cue"), sitting.answered, sitting.whole);
    // Keys told late and cues beside taps are told by themselves.
    let others_only = sitting.cues == 0 && sitting.told_late + sitting.second_task > 0;
    match &sitting.traded {
        // The choruses in which the band plays on alone are no rests of the sitting's own, but the lips rest in them.
        Some(traded) if sitting.rests == 0 => format!("; {}", traded.words()),
        Some(traded) => format!(", {rests}; {}", traded.words()),
        None if others_only => format!(", {rests}"),
        None => format!(", {rests}; {asked}, {answered} answered, {whole} all right"),
    }
}

fn sitting_words(sitting: &SittingRow) -> String {
    let started = sitting.started.get(..16).unwrap_or(&sitting.started).replace('T', " ");
    let mut words = format!("{started}  {}, sounding {}", long(sitting.lasted), long(sitting.sounding));
    if let Some(lesson) = &sitting.lesson {
        let kind = if lesson.trial { "trial" } else { "lesson" };
        let _ = write!(words, ", {kind} \"{}\"", lesson.name);
    }
    words += &rests_and_cues(sitting);
    if sitting.contested > 0 {
        let _ = write!(words, ", {} misheard by your word and not counted", sitting.contested);
    }
    if sitting.silent > 0 {
        let _ = write!(words, ", {} left silent", sitting.silent);
    }
    if sitting.unjudged > 0 {
        let _ = write!(words, ", {} broken off without a verdict", sitting.unjudged);
    }
    if sitting.something_else > 0 {
        let _ = write!(words, ", {} not the line that was asked, so not scored", sitting.something_else);
    }
    let [up, stay, down] = sitting.steps;
    if sitting.steps != [0; 3] {
        let _ = write!(words, "; {up} up, {stay} at the same tempo, {down} slower");
    }
    if sitting.apart > 0 {
        let _ = write!(words, "; {} more of a line taken apart", sitting.apart);
    }
    if !sitting.rounds.is_empty() {
        let counts: Vec<String> = sitting.rounds.iter().map(|(right, of)| format!("{right} of {of}")).collect();
        let rounds = numbered(counts.len(), "round");
        let _ = write!(words, "; {rounds} without a stop, all right and in time: {}", counts.join(", "));
    }
    if let (whole, of @ 1..) = sitting.by_ear {
        let _ = write!(words, "; by ear alone {whole} of {of} all right");
    }
    if sitting.spared != (0, 0) {
        let (sung, fingered) = sitting.spared;
        let _ = write!(words, "; away from the instrument {sung} sung, {fingered} fingered, not judged");
    }
    words.push_str(&probes(sitting));
    if sitting.again > 0 {
        let _ = write!(words, "; {} more asked for again", sitting.again);
    }
    if sitting.dropped > 0 {
        let _ = write!(
            words,
            "; {} were lost on the way in",
            numbered(usize::try_from(sitting.dropped).unwrap_or(usize::MAX), "sample")
        );
    }
    if !sitting.ended {
        words.push_str("; broken off");
    }
    words
}

/// Cues that were asked to find something out.
fn probes(sitting: &SittingRow) -> String {
    let late = (sitting.told_late > 0).then(|| format!("; {} told late", numbered(sitting.told_late as usize, "key")));
    let beside =
        (sitting.second_task > 0).then(|| format!("; {} beside taps", numbered(sitting.second_task as usize, "cue")));
    late.into_iter().chain(beside).collect()
}

/// A length in minutes, or in seconds below two minutes.
fn long(length: Seconds) -> String {
    if length.0 < 120.0 { format!("{:.0} s", length.0.max(0.0)) } else { format!("{:.0} min", length.0 / 60.0) }
}

fn key_table(out: &mut String, keys: &[&KeySummary], mode: Mode, page: &Page) {
    if keys.is_empty() {
        return;
    }
    line(out, "");
    line(out, &cells(["Key", "Cues", "Answers", "All right", "First of day", "Notes right", "Pace", "Best", "Late"]));
    for row in keys {
        let tempo = |tempo: Option<Tempo>| tempo.map_or_else(dash, |tempo| format!("{:.0}", tempo.0));
        let late = row.late.map_or_else(dash, late_words);
        let columns = [
            page.key(row.key, mode),
            row.cues.to_string(),
            row.answers.to_string(),
            row.whole.to_string(),
            format!("{} of {}", row.first_whole, row.first_tries),
            format!("{} of {}", row.right, row.of),
            tempo(row.pace),
            tempo(row.reached),
            late,
        ];
        line(out, &cells(columns.each_ref().map(String::as_str)));
    }
    line(out, "Cues: also those left silent, broken off, or answered with another line.");
    line(out, "Answers: those scored. First of day: of the day's first, those all right.");
    line(out, "Pace: quarters a minute of answers that went up; best: at most as asked.");
    line(out, "Where you stood still before a note, that wait is not in the pace.");
    line(out, "Late: how late answers in tempo were; with a minus they were early.");
}

/// The patterns over all keys, where there are several.
fn pattern_table(out: &mut String, patterns: &[PatternSummary], page: &Page) {
    if patterns.len() < 2 {
        return;
    }
    line(out, "");
    let row = |name: &str, [keys, answers, whole, tries, pace, reflex]: [&str; 6]| {
        format!("{:<31} {keys:>4} {answers:>7} {whole:>9} {tries:>12} {pace:>4} {reflex:>6}", wrap::cut(name, 31))
    };
    line(out, &row("Pattern", ["Keys", "Answers", "All right", "First of day", "Pace", "Reflex"]));
    for it in patterns {
        let tries = format!("{} of {}", it.first_whole, it.first_tries);
        let pace = it.pace.map_or_else(dash, |pace| format!("{:.0}", pace.0));
        let reflex = it.reflex.map_or_else(dash, |time| page.reflex_number(time, true));
        let [keys, answers, whole] = [it.keys, it.answers, it.whole].map(|count| count.to_string());
        line(out, &row(&it.title, [&keys, &answers, &whole, &tries, &pace, &reflex]));
    }
}

/// Early or late in milliseconds, or in seconds from one second on: a wider figure would be cut at the edge of the page.
fn late_words(late: Seconds) -> String {
    if late.abs().0 < 0.0005 {
        "0 ms".to_owned()
    } else if late.abs().0 < 0.9995 {
        format!("{:+.0} ms", late.ms())
    } else {
        format!("{:+.1} s", late.0)
    }
}

/// A row of the table of keys.
fn cells([key, cues, answers, whole, tries, notes, pace, reached, late]: [&str; 9]) -> String {
    format!("{key:<4} {cues:>5} {answers:>8} {whole:>10} {tries:>13} {notes:>12} {pace:>5} {reached:>5} {late:>8}")
}

fn dash() -> String {
    "-".to_owned()
}

fn reflex_table(out: &mut String, keys: &[&KeySummary], mode: Mode, page: &Page, calibrated: bool) {
    let has = |form: &Form| keys.iter().any(|row| row.reflexes.iter().any(|reflex| reflex.form == *form));
    let forms: Vec<Form> = Form::ALL.into_iter().filter(has).collect();
    if forms.is_empty() {
        return;
    }
    line(out, "");
    let unit = page.reading.reflex.name();
    line(out, &format!("Reflex time in {unit} after the end of the cue: median (spread)"));
    if !calibrated {
        line(out, "Not calibrated: the delay of the devices is still in these times.");
    }
    let name = |form: &Form| match form {
        Form::Pattern => "whole pattern",
        Form::FirstNote => "first note",
        Form::Chord => "chord",
        Form::NameOnly => "name only",
    };
    let head: String = forms.iter().map(|form| format!("{:>16}", name(form))).collect();
    line(out, &format!("Key {head}"));
    for row in keys.iter().filter(|row| !row.reflexes.is_empty()) {
        let cell = |form: &Form| {
            let found = row.reflexes.iter().find(|reflex| reflex.form == *form);
            let time = found.map_or_else(dash, |reflex| {
                let [middle, spread] = [reflex.median, reflex.spread].map(|time| page.reflex_number(time, true));
                format!("{middle} ({spread})")
            });
            format!("{time:>16}")
        };
        let cells: String = forms.iter().map(cell).collect();
        line(out, &format!("{:<4}{cells}", page.key(row.key, mode)));
    }
}

fn recurring(out: &mut String, faults: &[(String, String)]) {
    if faults.is_empty() {
        return;
    }
    line(out, "");
    line(out, "Faults that came back");
    for (title, sentence) in faults {
        wrapped(out, "  ", &format!("{title}: {sentence}"));
    }
}

fn came_back(out: &mut String, back: &[RetentionCheck], page: &Page) {
    if back.is_empty() {
        return;
    }
    line(out, "");
    line(out, "Back after a day or more");
    let shown = listed(back.len(), BACK);
    for came in back.iter().take(shown) {
        let days = numbered(came.days.max(0) as usize, "day");
        let there = if came.whole { "still there".to_owned() } else { notes_right(came.right, came.of) };
        wrapped(out, "  ", &format!("{}  {}  after {days}: {there}", page.key(came.key, came.mode), came.title));
    }
    if back.len() > shown {
        line(out, &format!("  and {} more", back.len() - shown));
    }
}

fn intonation(out: &mut String, part: &InstrumentReview, page: &Page, known: bool) {
    if part.pitches.is_empty() {
        return;
    }
    line(out, "");
    line(out, "Intonation in cents, the general offset taken out");
    for (number, sitting) in part.sittings.iter().enumerate().rev().take(10).rev() {
        let Some(offset) = sitting.offset else { continue };
        let which = if part.sittings.len() > 1 { format!("sitting {}: ", number + 1) } else { String::new() };
        let drift = sitting.drift.map_or_else(String::new, |drift| format!(", {}", drift_words(&drift)));
        wrapped(out, "  ", &format!("{which}general offset {}{drift}", signed(offset)));
    }
    line(out, "Note   Times  Going up  Going down     All  Spread");
    for row in &part.pitches {
        let cents = |value: Option<Cents>| value.map_or_else(dash, signed);
        let (up, down, all) = (cents(row.up), cents(row.down), signed(row.all));
        let (note, times, spread) = (page.pitch(row.pitch), row.times, row.spread.0);
        line(out, &format!("{note:<5} {times:>6} {up:>9} {down:>11} {all:>7} {spread:>7.0}"));
    }
    wrapped(out, "", &format!("{WAYS} {ALL}"));
    let often: Vec<PitchRow> = part.pitches.iter().filter(|row| row.times >= OFTEN).copied().collect();
    let rare = often.len() < part.pitches.len();
    if rare {
        wrapped(out, "", RARE);
    }
    if !known {
        return;
    }
    if !often.is_empty() {
        let which = if rare { " heard eight times or more" } else { "" };
        work_on(out, &often, which, &page.instrument, &|pitch| page.pitch(pitch));
    }
    for row in &often {
        if let Some(hint) = hint(page, row.pitch, row.all, Page::pitch) {
            wrapped(out, "", &hint);
        }
    }
}
