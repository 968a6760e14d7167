use std::collections::BTreeSet;

use crate::pattern::PatternId;
use crate::report::class::left::{LATELY, LeftKey, left_behind};
use crate::report::class::{ClassFault, ClassSitting};
use crate::report::judged::number;
use crate::report::weeks::WEEK;
use crate::units::Seconds;

/// Time without a rest that is a reason to look: music schools ask for one every twenty-five to thirty minutes (common practice).
const WITHOUT_REST: Seconds = Seconds(1800.0);
/// A fault is reported where it came back on so many days of practice in a row.
const RUNNING: usize = 4;

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
        /// The number of days on which that was so.
        days: u32,
        /// The day with the longest such time, days since 1970-01-01; the last of them where several are alike.
        day: i32,
        /// How long it went on then.
        long: Seconds,
    },
    /// Weak keys have no answer that counts on the last three days on which their pattern has such an answer.
    LeftBehind {
        /// The pattern.
        pattern: PatternId,
        /// The plain name of the pattern.
        title: String,
        /// The keys, round the circle of fifths.
        keys: Vec<LeftKey>,
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
    let left = left_behind(sittings, today).into_iter();
    all.extend(left.map(|(pattern, title, keys)| ClassReason::LeftBehind { pattern, title, keys }));
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
    let week = || sittings.iter().filter(|it| day(it) > today.saturating_sub(WEEK) && it.longest.0 >= WITHOUT_REST.0);
    let days: BTreeSet<i32> = week().map(|it| day(it)).collect();
    let longest = week().max_by(|a, b| a.longest.0.total_cmp(&b.longest.0))?;
    Some(ClassReason::NoRest { days: number(days.len()), day: day(longest), long: longest.longest })
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
