use crate::report::called::{called, who_plays};
use crate::report::date::{date, dates, sounded};
use crate::report::in_use::used_lines;
use crate::report::kept_text::kept_lines;
use crate::report::lines::{line, wrapped};
use crate::report::log::{LogPart, LogWeek, Returning};
use crate::report::part_page::page;
use crate::report::steadiness_text::steadiness_line;
use crate::report::takes_text::notes_right;
use crate::report::text::title;
use crate::report::warning_text::{by_ear_sentence, eyes_or_ears, in_time_sentences};
use crate::report::weeks::{self, WEEK, WeekRow};
use crate::words::numbers::{list, listed, numbered};
use crate::words::{self, Page, reason};

/// Largest number of weeks that are shown; the rest is only counted.
const WEEKS: usize = 12;
/// Largest number of patterns of a week that are named.
const NAMED: usize = 6;
/// Largest number of keys left alone that are listed; the rest is only counted.
const ALONE: usize = 12;

/// A log in plain text of at most 80 columns, as the player reads keys.
#[must_use]
pub fn log_to_text(parts: &[LogPart], today: i32) -> String {
    let players: Vec<_> = parts.iter().map(|part| part.player.as_ref()).collect();
    let texts: Vec<String> = parts.iter().map(|it| part(it, &called(it.player.as_ref(), &players), today)).collect();
    texts.join("\n")
}

fn part(part: &LogPart, called: &str, today: i32) -> String {
    let Some((page, known)) = page(&part.instrument, part.reading) else { return String::new() };
    let mut text = String::new();
    let out = &mut text;
    let who = who_plays(part.player.as_ref(), part.simulated, called);
    wrapped(out, "", &format!("{}, {who}", title(&part.instrument, &page, known)));
    let (sittings, days) = part.sittings;
    wrapped(
        out,
        "",
        &format!(
            "{} on {}, {}; {} of sound",
            numbered(sittings as usize, "sitting"),
            numbered(days as usize, "day"),
            dates(part.from_to.0, part.from_to.1),
            sounded(part.sounding.0),
        ),
    );
    match &part.this_against_last {
        Some(both) => wrapped(out, "", &weeks::sentence(both, "The last seven days", |time| page.reflex(time))),
        None if today.saturating_sub(part.from_to.1) >= WEEK => {
            line(out, &format!("No sitting in the last seven days; the latest was on {}.", date(part.from_to.1)));
        }
        None => {}
    }
    week_table(out, part, &page);
    kept_lines(out, &part.kept, &part.held_out, &page);
    let mut in_time = in_time_sentences(part.late.as_ref(), &part.rounds);
    in_time.extend(by_ear_sentence(part.by_ear).map(|said| said + &eyes_or_ears(part.by_ear, part.shown)));
    if !in_time.is_empty() {
        line(out, "");
        in_time.iter().for_each(|sentence| wrapped(out, "", sentence));
    }
    if let Some((cost, counts)) = &part.second_task {
        line(out, "");
        wrapped(out, "", &format!("Beside taps. {}", words::divided::sentences(cost, counts).join(" ")));
    }
    if let Some(steadiness) = &part.steadiness {
        line(out, "");
        wrapped(out, "", &steadiness_line(steadiness));
    }
    used_lines(out, &part.in_use, &page);
    left_alone(out, &part.returning, &page, today);
    text
}

/// Whole minutes; less than half of one is not none.
fn minutes(seconds: f64) -> String {
    match (seconds / 60.0).round() {
        0.0 if seconds >= 0.5 => "<1".to_owned(),
        minutes => format!("{minutes:.0}"),
    }
}

fn week_table(out: &mut String, part: &LogPart, page: &Page) {
    let row = |first: &str, cells: [&str; 8]| {
        let [days, minutes, rests, answers, whole, tries, reflex, pace] = cells;
        format!(
            "{first:<11} {days:>4} {minutes:>5} {rests:>10} {answers:>7} {whole:>9} {tries:>12} {reflex:>6} {pace:>4}"
        )
    };
    line(out, "");
    line(out, &row("Week from", ["Days", "Sound", "Rests", "Answers", "All right", "First of day", "Reflex", "Pace"]));
    let mut later: Option<i32> = None;
    for week in part.weeks.iter().take(WEEKS) {
        let WeekRow { until, .. } = week.row;
        let missed = later.map_or(0, |later| later.saturating_sub(until) / WEEK - 1);
        if missed > 0 {
            line(out, &format!("    ({} without a sitting)", numbered(missed as usize, "week")));
        }
        later = Some(until);
        line(out, &row(&monday(until), cells(week, page).each_ref().map(String::as_str)));
        wrapped(out, "    ", &practised(week));
    }
    if let Some(more) = part.weeks.len().checked_sub(WEEKS).filter(|more| *more > 0) {
        line(out, &format!("and {} before", numbered(more, "week")));
    }
    line(out, "Sound: minutes of your own sound. Rests: how many, and their minutes together.");
    line(out, "First of day: of the day's first answers to a pattern in a key, those all right.");
    let unit = page.reading.reflex.sign();
    line(out, &format!("Reflex ({unit}): the middle one of free answers."));
    line(out, "Pace (quarters a minute): the middle one of answers in tempo that went up.");
}

/// The first day of the week that ends with a Sunday, in short.
fn monday(until: i32) -> String {
    let named = date(until.saturating_sub(WEEK - 1));
    let words: Vec<&str> = named.split(' ').collect();
    match words[..] {
        [day, month, year] => format!("{day} {} {year}", month.get(..3).unwrap_or(month)),
        _ => named,
    }
}

fn cells(week: &LogWeek, page: &Page) -> [String; 8] {
    let row = &week.row;
    let none = || "-".to_owned();
    let rests = match row.rests {
        0 => none(),
        rests => format!("{rests}, {} min", minutes(row.resting.0)),
    };
    [
        row.days.to_string(),
        minutes(row.sounding.0),
        rests,
        row.answers.to_string(),
        row.whole.to_string(),
        format!("{} of {}", row.first_tries.0, row.first_tries.1),
        row.reflex.map_or_else(none, |time| page.reflex_number(time, true)),
        row.pace.map_or_else(none, |pace| format!("{:.0}", pace.0)),
    ]
}

fn practised(week: &LogWeek) -> String {
    let mut named: Vec<String> =
        week.practised.iter().take(NAMED).map(|(title, answers)| format!("{title} ({answers})")).collect();
    match week.practised.len() {
        0 => named.push("no answer that counts".to_owned()),
        all if all > NAMED => named.push(format!("{} more", all - NAMED)),
        _ => {}
    }
    list(&named)
}

fn left_alone(out: &mut String, all: &[Returning], page: &Page, today: i32) {
    if all.is_empty() {
        return;
    }
    line(out, "");
    line(out, "Left alone in what you practise, and how each key stood then");
    let shown = listed(all.len(), ALONE);
    for it in all.iter().take(shown) {
        let last = if it.whole { "was all right".to_owned() } else { format!("had {}", notes_right(it.right, it.of)) };
        let away = reason::not_done_since("answered", it.days, Some(today));
        let key = page.key(it.key, it.mode);
        wrapped(out, "  ", &format!("{key}  {}: {away}; its last answer {last}", it.title));
    }
    if all.len() > shown {
        line(out, &format!("  and {} more", all.len() - shown));
    }
}
