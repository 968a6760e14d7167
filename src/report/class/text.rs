use crate::report::class::lessons::ChartDone;
use crate::report::class::reason_text::reason_words;
use crate::report::class::{ClassRow, Lack, LessonDone, WeakKey};
use crate::report::date::{date, day_of};
use crate::report::lines::{line, wrapped};
use crate::report::part_page::page;
use crate::report::weeks::WeekRow;
use crate::words::numbers::numbered;
use crate::words::{Page, wrap};

/// To which days the figures of a row belong.
pub(super) const SEVEN: &str = "of these seven days, in brackets of the seven before.";
/// What the cell of the weakest keys says.
pub(super) const WEAK: &str = "Weakest keys, each by the latest three days on which it was answered: 3/11 of the answers all right; \
    q76/120 the best tempo held in tempo, against the player's goal; 1.4/0.8 s (or in ms) the middle reflex time against it.";
/// Columns of a name.
const NAME: usize = 18;
/// Columns of a chart.
const CHART: usize = 30;
/// Columns of the weakest keys.
const WEAKEST: usize = 25;

/// A class in plain text of at most 80 columns, each row as its player reads keys; a row whose instrument is not known has them as they
/// sound.
#[must_use]
pub fn class_to_text(rows: &[ClassRow], today: i32) -> String {
    let mut text = String::new();
    let out = &mut text;
    wrapped(out, "", &heading(rows, today));
    line(out, "");
    cells(out, ["Player", "Days", "Minutes", "All right", "Last", "Weakest keys"].map(str::to_owned));
    for row in rows {
        let Some((page, _)) = page(&row.instrument, row.reading) else { continue };
        cells(out, of(row, &page));
        for reason in &row.reasons {
            wrapped(out, "    ", &reason_words(reason, &page));
        }
        for lesson in &row.lessons {
            wrapped(out, "    ", &lesson_words(lesson, today));
        }
    }
    line(out, "");
    wrapped(out, "", &format!("Days, minutes of sound, answers all right: {SEVEN} {WEAK}"));
    text
}

/// The line above a class.
pub(super) fn heading(rows: &[ClassRow], today: i32) -> String {
    let first = rows.iter().filter(|row| !row.reasons.is_empty()).count();
    let order = match first {
        0 => "nobody gives a reason to look first, so by name".to_owned(),
        first => format!("first those who give a reason to look ({first}), then by name"),
    };
    format!("{}, the seven days to {}; {order}.", numbered(rows.len(), "player"), date(today))
}

/// Adds a row. A name that has no room in its column stands whole on a line of its own, for it tells the players apart.
fn cells(out: &mut String, [player, days, minutes, whole, last, weakest]: [String; 6]) {
    let player = match NAME.checked_sub(wrap::columns(&player)) {
        Some(short) => player + &" ".repeat(short),
        None => {
            wrapped(out, "", &player);
            " ".repeat(NAME)
        }
    };
    line(out, &format!("{player} {days:>5} {minutes:>9} {whole:>11} {last:>6}  {weakest}"));
}

/// The cells of a row.
pub(super) fn of(row: &ClassRow, page: &Page) -> [String; 6] {
    let with = |this: Option<String>, before: Option<String>| match (this, before) {
        (None, None) => "-".to_owned(),
        (this, None) => this.unwrap_or_default(),
        (this, Some(before)) => format!("{} ({before})", this.unwrap_or_else(|| "-".to_owned())),
    };
    let both = |figure: fn(&WeekRow) -> Option<String>| {
        with(row.this.as_ref().and_then(figure), row.before.as_ref().and_then(figure))
    };
    let weakest: Vec<String> = row.weakest.iter().map(|key| weak_words(key, page)).collect();
    // A key that has no room is left out, and not cut.
    let weakest = (1..=weakest.len()).rev().map(|count| weakest[..count].join(", "));
    let weakest = weakest.into_iter().find(|text| wrap::columns(text) <= WEAKEST);
    [
        format!("{}, {}", row.called, row.instrument),
        both(|week| Some(week.days.to_string())),
        both(|week| Some(format!("{:.0}", week.sounding.0 / 60.0))),
        both(|week| {
            let share = 100.0 * f64::from(week.whole) / f64::from(week.answers);
            (week.answers > 0).then(|| format!("{share:.0} %"))
        }),
        short_date(row.last),
        weakest.unwrap_or_else(|| "-".to_owned()),
    ]
}

/// A day in short: "28 Nov".
fn short_date(day: i32) -> String {
    let named = date(day);
    let words: Vec<&str> = named.split(' ').collect();
    match words[..] {
        [day, month, _] => format!("{day} {}", month.get(..3).unwrap_or(month)),
        _ => named,
    }
}

fn weak_words(weak: &WeakKey, page: &Page) -> String {
    let key = page.key(weak.key, weak.mode);
    match weak.lack {
        Lack::Right { whole, of } => format!("{key} {whole}/{of}"),
        Lack::Pace { pace, goal } => format!("{key} q{:.0}/{:.0}", pace.0, goal.0),
        Lack::Reflex { time, goal } => format!("{key} {}/{}", page.reflex_number(time, false), page.reflex(goal)),
    }
}

/// What of a lesson is done, as a sentence.
pub(super) fn lesson_words(done: &LessonDone, today: i32) -> String {
    let lesson = &done.lesson;
    let until = lesson.by.as_deref().and_then(|by| {
        let day = day_of(by)?;
        Some(format!(", {} {}", if day < today { "was due by" } else { "due by" }, date(day)))
    });
    let until = until.unwrap_or_default();
    let kind = if lesson.trial { "Trial" } else { "Lesson" };
    let name = &lesson.name;
    let charts = chart_words(&done.charts);
    let keys = match done.answered {
        None if done.charts.iter().all(|it| it.phrases[1] == 0) => {
            return format!("{kind} \"{name}\": not begun{until}.");
        }
        None => "no key answered".to_owned(),
        Some((answered, of)) if lesson.trial => {
            format!("{answered} of {of} answered, {} of them all right", done.whole)
        }
        Some((answered, of)) => {
            let each = if done.patterns > 1 {
                format!(" ({} in their keys)", numbered(done.patterns as usize, "pattern"))
            } else {
                String::new()
            };
            let what = if done.patterns > 1 { "" } else { "keys " };
            format!("on {} of {} days, {answered} of {of} {what}answered{each}", done.days, lesson.days)
        }
    };
    let afterwards = match done.afterwards {
        (0, _) => String::new(),
        (days, 0) => format!("; practised after it too, on {}", numbered(days as usize, "day")),
        (days, more) => format!("; after it {more} more, on {}", numbered(days as usize, "day")),
    };
    let other = if done.other_text { " This is another text than the lesson that is set." } else { "" };
    format!("{kind} \"{name}\": {keys}{charts}{until}{afterwards}.{other}")
}

/// ", traded over 1 of 2 charts (blues: 5 of 6 phrases answered, 3 all right)"; nothing where the lesson has no chart.
fn chart_words(charts: &[ChartDone]) -> String {
    let named = |ChartDone { chart, phrases: [phrases, answered, whole] }: &ChartDone| {
        format!("{}: {answered} of {phrases} phrases answered, {whole} all right", wrap::cut(chart, CHART))
    };
    let traded: Vec<String> = charts.iter().filter(|it| it.phrases[1] > 0).map(named).collect();
    let over = numbered(charts.len(), "chart");
    match (charts.len(), traded.len()) {
        (0, _) => String::new(),
        (_, 0) => format!(", traded over none of {over}"),
        (_, done) => format!(", traded over {done} of {over} ({})", traded.join("; ")),
    }
}
