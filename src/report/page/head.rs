//! What stands above the pictures: the facts, one sentence, and what to work on.

use crate::music::Intonation;
use crate::report::date::dates;
use crate::report::judged::Judged;
use crate::report::page::page_data::{KeyLine, KeyMeasure, KeyTable};
use crate::report::page::staff::typeset;
use crate::report::review::InstrumentReview;
use crate::report::tuning::{hint, to_work_on};
use crate::units::rank;
use crate::words::Page;
use crate::words::numbers::{list, numbered, signed};

/// Smallest ratio to the middle of all keys at which a key is slow, or quick; less is chance.
const APART: f64 = 1.25;
/// Smallest number of first tries of a day whose share says something of a key.
const TRIES: u32 = 4;
/// Largest number of things to work on: more is no plan.
const WORK: usize = 3;

/// Dates, sittings, days, minutes, answers, the longest time away, that pitches are written as the player reads them, and whether reflex
/// times contain the delay.
pub(super) fn facts(part: &InstrumentReview, answers: &[Judged<'_>]) -> Vec<String> {
    let mut days: Vec<i32> = part.sittings.iter().map(|sitting| sitting.day).collect();
    days.sort_unstable();
    days.dedup();
    let (Some(first), Some(last)) = (days.first(), days.last()) else { return Vec::new() };
    let sounding: f64 = part.sittings.iter().map(|sitting| sitting.sounding.0).sum();
    let away = days.windows(2).map(|pair| pair[1].saturating_sub(pair[0])).max().unwrap_or(0);
    let mut facts = vec![
        dates(*first, *last),
        format!("{} on {}", numbered(part.sittings.len(), "sitting"), numbered(days.len(), "day")),
        numbered((sounding / 60.0).round().max(0.0) as usize, "minute") + " of sound",
        numbered(answers.len(), "answer"),
    ];
    if away > 1 {
        facts.push(format!("longest time away: {away} days"));
    }
    facts.push("all pitches as the player reads them".to_owned());
    if part.sittings.iter().any(|sitting| !sitting.calibrated) {
        facts.push("reflex times of some sittings hold the delay of the devices, which was not measured".to_owned());
    }
    facts
}

/// One sentence: the middle key at first and at last, the slowest and the quickest keys of the last third of the days, and the key least
/// sure at its first try of a day.
pub(super) fn sentence(tables: &[KeyTable]) -> String {
    let mut parts: Vec<String> = tables.iter().filter_map(middle_key).collect();
    let middles = parts.len();
    for table in tables {
        let (slow, quick) = (ends(table, true), ends(table, false));
        let named = |lines: &[&KeyLine]| list(&lines.iter().map(|line| worded(table, line)).collect::<Vec<_>>());
        let (slowest, quickest) = match table.measure {
            KeyMeasure::Reflex(_) => ("slowest to begin", "quickest"),
            KeyMeasure::Pace => ("slowest in tempo", "fastest"),
        };
        if !slow.is_empty() {
            parts.push(format!("{slowest}: {}", named(&slow)));
        }
        if !quick.is_empty() {
            parts.push(format!("{quickest}: {}", named(&quick)));
        }
    }
    if let Some(line) = tables.first().and_then(least_sure) {
        let (whole, of) = line.first_tries;
        parts.push(format!("least sure at the first try of a day: {} ({whole} of {of} right)", typeset(&line.name)));
    }
    if parts.len() == middles && tables.iter().any(|table| table.lines.len() > 1) {
        parts.push("no key stands apart from the others".to_owned());
    }
    let text = parts.join("; ");
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
}

/// What became of all keys: the middle value at last and at first, over the keys that were measured at both times.
fn middle_key(table: &KeyTable) -> Option<String> {
    let both: Vec<(f64, f64)> = table.lines.iter().filter_map(|line| line.first.zip(line.last)).collect();
    let middle = |of: fn(&(f64, f64)) -> f64| crate::units::median(&both.iter().map(of).collect::<Vec<_>>());
    let (first, last) = (middle(|line| line.0)?, middle(|line| line.1)?);
    let [first, last] = [first, last].map(|value| table.measure.worded(value));
    Some(match table.measure {
        KeyMeasure::Reflex(_) => format!("the middle key begins after {last}, at first {first}"),
        KeyMeasure::Pace => format!("the middle key holds {last}, at first {first}"),
    })
}

fn worded(table: &KeyTable, line: &KeyLine) -> String {
    let value = line.last.unwrap_or(0.0);
    format!("{} ({})", typeset(&line.name), table.measure.worded(value))
}

/// How slow a line is, as a ratio to the middle of all: above 1 is slower.
fn slowness(table: &KeyTable, line: &KeyLine) -> Option<f64> {
    let all: Vec<f64> = table.lines.iter().filter_map(|line| line.last).collect();
    let middle = crate::units::median(&all)?;
    let ratio = line.last? / middle;
    Some(if table.measure.is_time() { ratio } else { 1.0 / ratio })
}

/// The keys that are not held out of practice.
fn practised(table: &KeyTable) -> impl Iterator<Item = &KeyLine> {
    table.lines.iter().filter(|line| !line.held_out)
}

/// At most two keys that stand apart from the middle on one side, the farthest first.
fn ends(table: &KeyTable, slow: bool) -> Vec<&KeyLine> {
    let mut far: Vec<(f64, &KeyLine)> = practised(table)
        .filter_map(|line| Some((slowness(table, line)?, line)))
        .map(|(ratio, line)| (if slow { ratio } else { 1.0 / ratio }, line))
        .filter(|(ratio, _)| *ratio >= APART)
        .collect();
    far.sort_by_cached_key(|it| rank(-it.0));
    far.into_iter().take(2).map(|(_, line)| line).collect()
}

/// Of the practised keys with [`TRIES`] first tries or more, the one with the smallest share of whole ones; `None` where all of
/// them are whole.
fn least_sure(table: &KeyTable) -> Option<&KeyLine> {
    let share = |line: &KeyLine| f64::from(line.first_tries.0) / f64::from(line.first_tries.1.max(1));
    let tried = practised(table).filter(|line| line.first_tries.1 >= TRIES);
    tried.min_by(|a, b| share(a).total_cmp(&share(b))).filter(|line| share(line) < 1.0)
}

/// The first three sentences of these: a fault that keeps coming back, the keys that lag, the note farthest out of tune with what
/// the instrument has to do with it, the key least sure at its first tries, all keys where they fall short of a goal, the keys
/// without an answer.
pub(super) fn work_on(part: &InstrumentReview, tables: &[KeyTable], page: &Page) -> Vec<String> {
    let mut all: Vec<String> =
        part.recurring.iter().take(1).map(|(title, sentence)| format!("{title}: {sentence}")).collect();
    for table in tables {
        let slow = ends(table, true);
        if let (Some(line), false) = (slow.first(), all.len() >= WORK) {
            let names = list(&slow.iter().map(|line| typeset(&line.name)).collect::<Vec<_>>());
            let ratio = slowness(table, line).unwrap_or(1.0);
            all.push(match table.measure {
                KeyMeasure::Reflex(_) => {
                    format!(
                        "{names}: {} takes {ratio:.1} times as long to begin as the middle key.",
                        typeset(&line.name)
                    )
                }
                KeyMeasure::Pace => {
                    format!("{names}: {} is {ratio:.1} times as slow as the middle key.", typeset(&line.name))
                }
            });
        }
    }
    all.extend(out_of_tune(part, page));
    if let Some(line) = tables.first().and_then(least_sure) {
        let (whole, of) = line.first_tries;
        all.push(format!(
            "{}: {whole} of {of} first tries of a day were all right; begin a day with it.",
            typeset(&line.name)
        ));
    }
    all.extend(tables.iter().filter_map(behind));
    all.extend(not_asked(tables));
    all.truncate(WORK);
    all
}

/// A sentence on all keys together, where the middle one falls short of the goal by more than rounding hides.
fn behind(table: &KeyTable) -> Option<String> {
    let middle = crate::units::median(&table.lines.iter().filter_map(|line| line.last).collect::<Vec<_>>())?;
    let (measure, goal) = (table.measure, table.goal);
    if measure.worded(middle) == measure.worded(goal) {
        return None;
    }
    match measure {
        KeyMeasure::Reflex(_) if middle > goal => Some(format!(
            "All keys: the middle one begins after {}, the goal is {}; short cues, answered at once.",
            measure.worded(middle),
            measure.worded(goal)
        )),
        KeyMeasure::Pace if middle < goal => Some(format!(
            "All keys: the middle one holds {}, the goal is {goal:.0}; raise it where answers are all right.",
            measure.worded(middle)
        )),
        _ => None,
    }
}

/// A sentence that names the keys without an answer, where these are six or fewer.
fn not_asked(tables: &[KeyTable]) -> Option<String> {
    let table = tables.first().filter(|table| table.missing.len() <= 6 && !table.missing.is_empty())?;
    let names: Vec<String> = table.missing.iter().map(|name| typeset(name)).collect();
    Some(format!("Not answered in yet: {}.", list(&names)))
}

/// Of the notes heard eight times or more, the one farthest from the others, where it lies beyond what is in tune.
fn out_of_tune(part: &InstrumentReview, page: &Page) -> Option<String> {
    let Intonation::Scored { in_tune, .. } = page.instrument.intonation else { return None };
    let often: Vec<_> = part.pitches.iter().filter(|row| row.times >= 8).copied().collect();
    let row = *to_work_on(&often, in_tune).first()?;
    let name = page.pitch(row.pitch);
    let (off, way) = row.farthest_way();
    let comes = way.map_or_else(String::new, |way| format!(" where the line comes {way} to it"));
    let how = hint(page, row.pitch, off).map_or_else(String::new, |hint| format!(" {hint}"));
    Some(format!("{name} lies {} cents from the others{comes}, heard {} times.{how}", signed(off), row.times))
}
