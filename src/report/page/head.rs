//! What stands above the pictures: the facts, one sentence, and what to work on.

use crate::music::{ConcertKey, Intonation};
use crate::report::date::{date, dates, sounded};
use crate::report::judged::Judged;
use crate::report::lately::{APART, LATEST_DAYS};
use crate::report::page::page_data::{KeyLine, KeyMeasure, KeyTable};
use crate::report::page::staff::typeset;
use crate::report::review::InstrumentReview;
use crate::report::traded::{TradedPhrases, beside_all_right};
use crate::report::tuning::{OFTEN, alike, hint, to_work_on};
use crate::units::rank;
use crate::words::Page;
use crate::words::numbers::{count, list, numbered, signed};

/// Smallest number of first tries of a day whose share says something of a key.
const TRIES: u32 = 4;
/// Smallest number of answers by which a key is called slow or quick.
const KNOWN: u32 = 3;
/// Largest number of keys that are named where the number of them tells as much.
const NAMES: usize = 4;
/// Largest number of things to work on: more is no plan.
const WORK: usize = 3;

/// Dates, sittings, days, minutes, answers or phrases over a form, the longest time away, that pitches are written as the player reads them, and whether reflex
/// times contain the delay.
pub(super) fn facts(part: &InstrumentReview, answers: &[Judged<'_>], today: Option<i32>) -> Vec<String> {
    let mut days: Vec<i32> = part.sittings.iter().map(|sitting| sitting.day).collect();
    days.sort_unstable();
    days.dedup();
    let (Some(first), Some(last)) = (days.first(), days.last()) else { return Vec::new() };
    let sounding: f64 = part.sittings.iter().map(|sitting| sitting.sounding.0).sum();
    let away = days.windows(2).map(|pair| pair[1].saturating_sub(pair[0])).max().unwrap_or(0);
    let mut facts = vec![
        dates(*first, *last),
        format!("{} on {}", numbered(part.sittings.len(), "sitting"), numbered(days.len(), "day")),
        sounded(sounding) + " of sound",
    ];
    let traded: Vec<&TradedPhrases> =
        part.sittings.iter().filter_map(|sitting| sitting.traded.as_ref()).filter(|it| it.phrases > 0).collect();
    if !answers.is_empty() || traded.is_empty() {
        facts.push(numbered(answers.len(), "answer"));
    }
    if !traded.is_empty() {
        let sum = |of: fn(&TradedPhrases) -> u32| traded.iter().map(|it| of(it) as usize).sum::<usize>();
        let (phrases, answered, whole) = (sum(|it| it.phrases), sum(|it| it.answered), sum(|it| it.whole));
        let but = beside_all_right(sum(|it| it.faulty) as u32);
        facts.push(format!("{} over a form, {answered} answered, {whole} all right{but}", numbered(phrases, "phrase")));
    }
    match today.map(|today| (today, today.saturating_sub(*last))).filter(|(_, since)| *since > away) {
        Some((today, since @ 2..)) => {
            facts.push(format!("longest time away: the {since} days to {}", date(today)));
        }
        _ if away > 1 => facts.push(format!("longest time away: {away} days")),
        _ => {}
    }
    facts.push("all pitches as the player reads them".to_owned());
    if part.sittings.iter().any(|sitting| !sitting.calibrated) {
        facts.push("reflex times of some sittings hold the delay of the devices, which was not measured".to_owned());
    }
    facts
}

/// One sentence: the middle key at first and at last, the keys that were left behind, the slowest and the quickest keys, and the keys
/// least sure at their first try of a day.
pub(super) fn sentence(tables: &[KeyTable]) -> String {
    let mut parts: Vec<String> = tables.iter().filter_map(middle_key).collect();
    parts.extend(tables.first().and_then(left_behind));
    let facts = parts.len();
    for table in tables {
        let (slow, quick) = (ends(table, true), ends(table, false));
        let named = |lines: &[&KeyLine]| list(&lines.iter().map(|line| worded(table, line)).collect::<Vec<_>>());
        let (slowest, quickest) = match table.measure {
            KeyMeasure::Reflex(_) => ("slowest to begin", "quickest"),
            KeyMeasure::Pace => ("slowest at best", "fastest at best"),
        };
        if !slow.is_empty() {
            parts.push(format!("{slowest}: {}", named(&slow)));
        }
        if !quick.is_empty() {
            parts.push(format!("{quickest}: {}", named(&quick)));
        }
    }
    let tried =
        |line: &&KeyLine| format!("{} ({} of {} right)", typeset(&line.name), line.first_tries.0, line.first_tries.1);
    let unsure: Vec<String> = tables.first().map(least_sure).iter().flatten().map(tried).collect();
    if !unsure.is_empty() {
        parts.push(format!("least sure at the first try of a day: {}", list(&unsure)));
    }
    if parts.len() == facts && tables.iter().any(|table| table.lines.len() > 1) {
        let by = |table: &KeyTable| if table.measure.is_time() { "in reflex time" } else { "in tempo" };
        parts.push(format!("no key stands apart {}", tables.iter().map(by).collect::<Vec<_>>().join(" or ")));
    }
    let text = parts.join("; ");
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
}

/// What became of the keys: the middle value at last and at first, over the keys that were measured at both times, which are named where
/// they are not all that were answered.
fn middle_key(table: &KeyTable) -> Option<String> {
    let of: Vec<&KeyLine> = table.lines.iter().filter(|line| line.first.is_some() && line.last.is_some()).collect();
    let middle = |value: fn(&KeyLine) -> Option<f64>| {
        crate::units::median(&of.iter().filter_map(|line| value(line)).collect::<Vec<_>>())
    };
    let (first, last) = (middle(|line| line.first)?, middle(|line| line.last)?);
    let [first, last] = [first, last].map(|value| table.measure.worded(value));
    let key = match &of[..] {
        all if all.len() == table.lines.len() => "the middle key".to_owned(),
        [one] => format!("{}, the only key played at first and at last,", typeset(&one.name)),
        [_, _] => format!("the middle of the two, {}, played at first and at last,", few(&of)),
        some => format!("the middle one of {}, played at first and at last,", few(some)),
    };
    Some(match table.measure {
        KeyMeasure::Reflex(_) => format!("{key} begins after {last}, at first {first}"),
        KeyMeasure::Pace => format!("{key} holds {last}, at first {first}"),
    })
}

/// Keys by their names, or by their number where it takes more room than it tells.
fn few(lines: &[&KeyLine]) -> String {
    if lines.len() > NAMES {
        return numbered(lines.len(), "key");
    }
    list(&lines.iter().map(|line| typeset(&line.name)).collect::<Vec<_>>())
}

/// The keys without an answer on the last three days of practice and longer: "10 keys not answered since 21 November 2026".
fn left_behind(table: &KeyTable) -> Option<String> {
    let left: Vec<&KeyLine> = table.lines.iter().filter(|line| line.left_since.is_some()).collect();
    let last = left.iter().filter_map(|line| line.left_since).max()?;
    Some(format!("{} not answered since {}", few(&left), date(last)))
}

fn worded(table: &KeyTable, line: &KeyLine) -> String {
    format!("{} ({})", typeset(&line.name), table.measure.worded(now(table, line).unwrap_or(0.0)))
}

/// How a key stands now: by its reflex time of the last days, or by its best of its latest days, for each day begins slowly.
fn now(table: &KeyTable, line: &KeyLine) -> Option<f64> {
    if table.measure.is_time() { line.last } else { line.best }
}

/// The middle of all keys as they stand now.
fn middle_now(table: &KeyTable) -> Option<f64> {
    crate::units::median(&table.lines.iter().filter_map(|line| now(table, line)).collect::<Vec<_>>())
}

/// How slow a line is, as a ratio to the middle of all: above 1 is slower.
fn slowness(table: &KeyTable, line: &KeyLine) -> Option<f64> {
    let ratio = now(table, line)? / middle_now(table)?;
    Some(if table.measure.is_time() { ratio } else { 1.0 / ratio })
}

/// The keys that are not held out of practice.
fn practised(table: &KeyTable) -> impl Iterator<Item = &KeyLine> {
    table.lines.iter().filter(|line| !line.held_out)
}

/// At most two keys that stand apart from the middle on one side, the farthest first. A key that was answered once or twice is not known:
/// each key begins slowly.
fn ends(table: &KeyTable, slow: bool) -> Vec<&KeyLine> {
    let mut far: Vec<(f64, &KeyLine)> = practised(table)
        .filter_map(|line| Some((slowness(table, line)?, line)))
        .map(|(ratio, line)| (if slow { ratio } else { 1.0 / ratio }, line))
        .filter(|(ratio, line)| *ratio >= APART && line.answers >= KNOWN)
        .collect();
    far.sort_by_cached_key(|it| rank(-it.0));
    far.into_iter().take(2).map(|(_, line)| line).collect()
}

/// Of the practised keys with [`TRIES`] first tries or more, those with the smallest share of whole ones; none where all of these are
/// whole, or where so many keys have this share that none stands apart.
fn least_sure(table: &KeyTable) -> Vec<&KeyLine> {
    let share = |line: &KeyLine| f64::from(line.first_tries.0) / f64::from(line.first_tries.1.max(1));
    let tried: Vec<&KeyLine> = practised(table).filter(|line| line.first_tries.1 >= TRIES).collect();
    let least = tried.iter().map(|line| share(line)).fold(1.0, f64::min);
    let alike: Vec<&KeyLine> = tried.into_iter().filter(|line| share(line) <= least).collect();
    if least < 1.0 && alike.len() <= NAMES { alike } else { Vec::new() }
}

/// A sentence on the keys least sure at their first tries.
fn unsure(table: &KeyTable) -> Option<String> {
    let lines = least_sure(table);
    let tries: Vec<String> =
        lines.iter().map(|line| format!("{} of {}", line.first_tries.0, line.first_tries.1)).collect();
    let one = tries.first()?;
    let (tries, each) = match tries.iter().all(|it| it == one) {
        true => (one.clone(), if lines.len() > 1 { " in each" } else { "" }),
        false => (list(&tries), ""),
    };
    let it = if lines.len() > 1 { "one of them" } else { "it" };
    Some(format!("{}: {tries} first tries of a day were all right{each}; begin a day with {it}.", few(&lines)))
}

/// The first three sentences of these: a fault that keeps coming back, the keys that were left behind, the keys that lag, the note farthest
/// out of tune with what the instrument has to do with it, the keys least sure at their first tries, all keys where they fall short of a
/// goal, the keys without an answer.
pub(super) fn work_on(part: &InstrumentReview, tables: &[KeyTable], page: &Page) -> Vec<String> {
    let mut all: Vec<String> =
        part.recurring.iter().take(1).map(|(title, sentence)| format!("{title}: {sentence}")).collect();
    all.extend(tables.first().and_then(take_up));
    all.extend(tables.iter().filter_map(lagging));
    all.extend(out_of_tune(part, page));
    all.extend(tables.first().and_then(unsure));
    all.extend(tables.iter().filter_map(behind));
    all.extend(not_asked(tables));
    all.truncate(WORK);
    all
}

/// A sentence that names all keys that were left behind while others were practised.
fn take_up(table: &KeyTable) -> Option<String> {
    let left: Vec<&KeyLine> = table.lines.iter().filter(|line| line.left_since.is_some()).collect();
    let last = left.iter().filter_map(|line| line.left_since).max()?;
    let names = list(&left.iter().map(|line| typeset(&line.name)).collect::<Vec<_>>());
    let them = if left.len() == 1 { "it" } else { "them" };
    Some(format!(
        "{names}: no answer since {}, on {LATEST_DAYS} days of practice or more; take {them} up again.",
        date(last)
    ))
}

/// A sentence on the keys that are slow beside the middle key.
fn lagging(table: &KeyTable) -> Option<String> {
    let slow = ends(table, true);
    let named = |of: &dyn Fn(&KeyLine) -> String| list(&slow.iter().map(|line| of(line)).collect::<Vec<_>>());
    let names = (!slow.is_empty()).then(|| named(&|line| typeset(&line.name)))?;
    let (each, middle) = (if slow.len() == 1 { "" } else { " each" }, table.measure.worded(middle_now(table)?));
    Some(match table.measure {
        KeyMeasure::Reflex(_) => {
            let ratios = named(&|line| format!("{:.1}", slowness(table, line).unwrap_or(1.0)));
            let (take, in_order) = if each.is_empty() { ("takes", "") } else { ("take", ", in this order,") };
            format!("{names}{in_order} {take} {ratios} times as long to begin as the middle key.")
        }
        KeyMeasure::Pace => {
            let best = named(&|line| format!("{:.0}", now(table, line).unwrap_or(0.0)));
            let days = slow.iter().map(|line| line.days.len()).min().unwrap_or(0);
            let lately = if days < LATEST_DAYS { "so far" } else { "on the latest three days" };
            format!("{names}: at best quarter = {best} {lately}{each}, the middle key {middle}.")
        }
    })
}

/// A sentence on the middle key, where it falls short of the goal by more than rounding hides. Its keys are named where others were
/// answered too, but not lately.
fn behind(table: &KeyTable) -> Option<String> {
    let here: Vec<&KeyLine> =
        table.lines.iter().filter(|line| line.left_since.is_none() && now(table, line).is_some()).collect();
    let middle = crate::units::median(&here.iter().filter_map(|line| now(table, line)).collect::<Vec<_>>())?;
    let (measure, goal) = (table.measure, table.goal);
    if measure.worded(middle) == measure.worded(goal) {
        return None;
    }
    let keys = match &here[..] {
        [one] => typeset(&one.name),
        [_, _] => format!("{}: the middle of the two", few(&here)),
        all if all.len() == ConcertKey::FIFTHS.len() => "All keys: the middle one".to_owned(),
        all if all.len() == table.lines.len() => format!("The {} keys played: the middle one", count(all.len())),
        some => format!("Of {}, the keys with a figure so far, the middle one", few(some)),
    };
    match measure {
        KeyMeasure::Reflex(_) if middle > goal => Some(format!(
            "{keys} begins after {}, the goal is {}; short cues, answered at once.",
            measure.worded(middle),
            measure.worded(goal)
        )),
        KeyMeasure::Pace if middle < goal => Some(format!(
            "{keys} holds {} at best, the goal is {goal:.0}; the drill raises it where answers are all right.",
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
    let often: Vec<_> = part.pitches.iter().filter(|row| row.times >= OFTEN).copied().collect();
    let row = *to_work_on(&often, in_tune).first()?;
    let name = page.pitch(row.pitch);
    let (off, way) = row.farthest_way(alike(&often));
    let comes = way.map_or_else(String::new, |way| format!(" where the line comes {way} to it"));
    let how = hint(page, row.pitch, off, Page::pitch).map_or_else(String::new, |hint| format!(" {hint}"));
    Some(format!("{name} lies {} cents from the others{comes}, heard {} times.{how}", signed(off), row.times))
}
