use std::collections::{BTreeMap, BTreeSet};

use crate::music::{ConcertKey, Mode};
use crate::pattern::PatternId;
use crate::report::class::{ClassFault, ClassSitting};
use crate::report::figures::AnswerFigures;
use crate::report::judged::number;
use crate::report::weeks::WEEK;
use crate::units::Seconds;

/// Time without a rest that is a reason to look: music schools ask for one every twenty-five to thirty minutes (common practice).
const WITHOUT_REST: Seconds = Seconds(1800.0);
/// Number of a key's latest answers that are looked at; the key is weak where fewer than half of them were all right.
const LATEST: usize = 8;
/// Least number of latest answers by which a key is judged weak.
const NEEDED: usize = 4;
/// A weak key is left behind where its pattern was answered on so many days after the last answer in the key (answers that count).
const LEFT: usize = 3;
/// A fault is reported where it came back on so many days of practice in a row.
const RUNNING: usize = 4;
/// Number of days: a key left behind, or a fault, since a day so long ago or longer is no reason to look today.
const LATELY: i32 = 14;

/// A reason to look at a player first.
#[derive(Debug, Clone, PartialEq)]
pub enum ClassReason {
    /// Nothing for seven days or more.
    Stopped {
        /// The last day with a sitting, days since 1970-01-01.
        last: i32,
        /// Number of days since then.
        days: i32,
    },
    /// In the last seven days half an hour or more went by without a pause of half a minute.
    NoRest {
        /// The day on which that was, days since 1970-01-01.
        day: i32,
        /// How long it went on.
        long: Seconds,
    },
    /// Keys that fail have no answer that counts on the last three days on which their pattern has such an answer.
    LeftBehind {
        /// The pattern.
        pattern: PatternId,
        /// The plain name of the pattern.
        title: String,
        /// Each key: as it sounds, its mode, the last day on which it was answered, how many of its latest answers were all right, and
        /// how many these are.
        keys: Vec<(ConcertKey, Mode, i32, u32, u32)>,
    },
    /// The same fault came back on each of the last four days of practice.
    SameFault {
        /// The four days, each in days since 1970-01-01.
        days: Vec<i32>,
        /// The fault as it was on the last of these days.
        fault: ClassFault,
    },
}

/// All reasons of one player on one instrument; the sittings are in the order of time.
pub(super) fn reasons(sittings: &[&ClassSitting], today: i32) -> Vec<ClassReason> {
    let mut all = Vec::new();
    all.extend(stopped(sittings, today));
    all.extend(no_rest(sittings, today));
    all.extend(left_behind(sittings, today));
    all.extend(same_fault(sittings, today));
    all
}

fn day(sitting: &ClassSitting) -> i32 {
    sitting.figures.began.day
}

fn stopped(sittings: &[&ClassSitting], today: i32) -> Option<ClassReason> {
    let last = day(sittings.last()?);
    let days = today.saturating_sub(last);
    (days >= WEEK).then_some(ClassReason::Stopped { last, days })
}

fn no_rest(sittings: &[&ClassSitting], today: i32) -> Option<ClassReason> {
    let week = sittings.iter().filter(|it| day(it) > today.saturating_sub(WEEK) && it.longest.0 >= WITHOUT_REST.0);
    let longest = week.max_by(|a, b| a.longest.0.total_cmp(&b.longest.0))?;
    Some(ClassReason::NoRest { day: day(longest), long: longest.longest })
}

fn left_behind(sittings: &[&ClassSitting], today: i32) -> Vec<ClassReason> {
    let mut patterns: BTreeMap<&PatternId, Vec<(i32, &AnswerFigures)>> = BTreeMap::new();
    for sitting in sittings {
        for answer in &sitting.figures.answers {
            patterns.entry(&answer.pattern).or_default().push((day(sitting), answer));
        }
    }
    let of = |(pattern, answers): (&PatternId, Vec<(i32, &AnswerFigures)>)| {
        let days: BTreeSet<i32> = answers.iter().map(|(day, _)| *day).collect();
        let since = *days.iter().rev().nth(LEFT - 1)?;
        if since <= today.saturating_sub(LATELY) {
            return None;
        }
        let keys: Vec<_> = ConcertKey::FIFTHS.into_iter().filter_map(|key| left(key, &answers, since)).collect();
        let title = answers.last()?.1.title.clone();
        (!keys.is_empty()).then(|| ClassReason::LeftBehind { pattern: pattern.clone(), title, keys })
    };
    patterns.into_iter().filter_map(of).collect()
}

fn left(key: ConcertKey, answers: &[(i32, &AnswerFigures)], since: i32) -> Option<(ConcertKey, Mode, i32, u32, u32)> {
    let mine: Vec<&(i32, &AnswerFigures)> = answers.iter().filter(|(_, answer)| answer.key == key).collect();
    let (last, answer) = mine.last()?;
    let latest = &mine[mine.len().saturating_sub(LATEST)..];
    let whole = latest.iter().filter(|(_, answer)| answer.whole).count();
    let weak = latest.len() >= NEEDED && 2 * whole < latest.len();
    (weak && *last < since).then(|| (key, answer.mode, *last, number(whole), number(latest.len())))
}

fn same_fault(sittings: &[&ClassSitting], today: i32) -> Vec<ClassReason> {
    let practised = sittings.iter().filter(|it| !it.figures.answers.is_empty());
    let days: BTreeSet<i32> = practised.map(|it| day(it)).collect();
    let mut latest: Vec<i32> = days.into_iter().rev().take(RUNNING).collect();
    latest.reverse();
    let lately = latest.first().is_some_and(|first| *first > today.saturating_sub(LATELY));
    if latest.len() < RUNNING || !lately {
        return Vec::new();
    }
    let on = |wanted: i32| sittings.iter().filter(move |it| day(it) == wanted).flat_map(|it| &it.faults);
    let mut found: Vec<ClassReason> = Vec::new();
    for fault in on(latest[RUNNING - 1]) {
        let same = |other: &ClassFault| (&other.pattern, other.fault) == (&fault.pattern, fault.fault);
        let reported = found.iter().any(|it| matches!(it, ClassReason::SameFault { fault, .. } if same(fault)));
        if !reported && latest.iter().all(|day| on(*day).any(&same)) {
            found.push(ClassReason::SameFault { days: latest.clone(), fault: fault.clone() });
        }
    }
    found
}
