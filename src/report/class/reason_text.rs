use crate::report::class::{ClassReason, LeftKey};
use crate::report::date::{date, dates};
use crate::words::Page;
use crate::words::numbers::{list, numbered};

/// A reason as a sentence.
pub(super) fn reason_words(reason: &ClassReason, page: &Page) -> String {
    match reason {
        ClassReason::Stopped { last, days } => {
            format!(
                "No sitting for {}: the last was on {}.",
                numbered(days.unsigned_abs() as usize, "day"),
                date(*last)
            )
        }
        ClassReason::NoRest { days: 1, day, long } => {
            format!("Went on for {} without a rest, on {}.", minutes(long.0), date(*day))
        }
        ClassReason::NoRest { days, day, long } => format!(
            "Went on for half an hour or more without a rest on {days} of these seven days; the longest was {}, on {}.",
            minutes(long.0),
            date(*day)
        ),
        ClassReason::LeftBehind { title, keys, .. } => {
            let fail = keys.iter().filter(|it| it.fails());
            let mut named: Vec<String> = fail.map(|it| failing(it, page)).collect();
            named.extend(slow(&keys.iter().filter(|it| !it.fails()).collect::<Vec<_>>(), page));
            let weak = if keys.len() == 1 { "A weak key" } else { "Weak keys" };
            format!("{weak} without an answer on the last three days of {title}: {}.", named.join("; "))
        }
        ClassReason::SameFault { days, fault } => {
            let until = days.last().map_or_else(String::new, |day| format!(", of which the latest is {}", date(*day)));
            format!(
                "The same fault on each of the last {} of practice{until}, in {}. {}",
                numbered(days.len(), "day"),
                fault.title,
                fault.sentence
            )
        }
    }
}

/// Whole minutes that are over.
fn minutes(seconds: f64) -> String {
    numbered((seconds / 60.0).floor().max(0.0) as usize, "minute")
}

/// A key that fails: "B (1 of its latest 8 answers all right, the last on 23 November 2026)".
fn failing(left: &LeftKey, page: &Page) -> String {
    let (whole, of) = left.whole;
    let key = page.key(left.key, left.mode);
    format!("{key} ({whole} of its latest {of} answers all right, the last on {})", date(left.last))
}

/// The slow keys together: "D and A (slow: best quarter = 95 to 109, the middle one of the keys answered since 151; last answered on
/// 21 November 2026)".
fn slow(keys: &[&LeftKey], page: &Page) -> Option<String> {
    let bests = || keys.iter().filter_map(|it| it.best).map(|best| best.0);
    let (low, high) = (bests().reduce(f64::min)?, bests().reduce(f64::max)?);
    let (first, last) = (keys.iter().map(|it| it.last).min()?, keys.iter().map(|it| it.last).max()?);
    let others = keys.iter().find_map(|it| it.others)?;
    let [low, high] = [low, high].map(|tempo| format!("{tempo:.0}"));
    let best = if low == high { low } else { format!("{low} to {high}") };
    let named: Vec<String> = keys.iter().map(|it| page.key(it.key, it.mode)).collect();
    Some(format!(
        "{} (slow: best quarter = {best}, the middle one of the keys answered since {:.0}; last answered {} {})",
        list(&named),
        others.0,
        if first == last { "on" } else { "from" },
        dates(first, last)
    ))
}
