//! Seven days against the seven before: what a lesson a week asks for.

use std::collections::BTreeSet;

use crate::report::date::date;
use crate::report::figures::{AnswerFigures, SittingFigures};
use crate::report::judged::number;
use crate::units::{Seconds, Tempo, median};
use crate::words::numbers::numbered;

/// Days of a week.
pub(super) const WEEK: i32 = 7;

/// Seven days of one player on one instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekRow {
    /// Last calendar day of the seven, days since 1970-01-01.
    pub until: i32,
    /// Number of days with a sitting.
    pub days: u32,
    /// Number of sittings.
    pub sittings: u32,
    /// Length of the player's own sound.
    pub sounding: Seconds,
    /// Number of rests for lips, voice or hands.
    pub rests: u32,
    /// Length of all rests together.
    pub resting: Seconds,
    /// Number of answers that count.
    pub answers: u32,
    /// Number of answers that count and were whole (all right).
    pub whole: u32,
    /// Number of first answers of a day to a pattern in a key that were whole, and of all of them.
    pub first_tries: (u32, u32),
    /// Middle reflex time of free answers that count.
    pub reflex: Option<Seconds>,
    /// Middle pace of answers in tempo that went up.
    pub pace: Option<Tempo>,
}

/// The seven days that end with a day, and the seven before; `None` where one of the two has no sitting.
pub(super) fn two_until(day: i32, sittings: &[SittingFigures]) -> Option<[WeekRow; 2]> {
    Some([week(day, sittings)?, week(day.saturating_sub(WEEK), sittings)?])
}

/// The figures of the seven days that end with a day; `None` where no sitting falls into these days.
pub(super) fn week(until: i32, sittings: &[SittingFigures]) -> Option<WeekRow> {
    let within = |day: i32| day <= until && day > until.saturating_sub(WEEK);
    let mine: Vec<&SittingFigures> = sittings.iter().filter(|sitting| within(sitting.began.day)).collect();
    let days: BTreeSet<i32> = mine.iter().map(|sitting| sitting.began.day).collect();
    if days.is_empty() {
        return None;
    }
    let answers: Vec<(i32, &AnswerFigures)> =
        mine.iter().flat_map(|sitting| sitting.answers.iter().map(|answer| (sitting.began.day, answer))).collect();
    let mut tried = BTreeSet::new();
    let tries: Vec<bool> = answers
        .iter()
        .filter(|(day, answer)| tried.insert((*day, answer.key.place(), &answer.pattern)))
        .map(|(_, answer)| answer.whole)
        .collect();
    let middle = |of: fn(&AnswerFigures) -> Option<f64>| {
        median(&answers.iter().filter_map(|(_, answer)| of(answer)).collect::<Vec<f64>>())
    };
    Some(WeekRow {
        until,
        days: number(days.len()),
        sittings: number(mine.len()),
        sounding: Seconds(mine.iter().map(|sitting| sitting.sounding.0).sum()),
        rests: mine.iter().fold(0, |sum, sitting| sum.saturating_add(sitting.rests)),
        resting: Seconds(mine.iter().map(|sitting| sitting.resting.0).sum()),
        answers: number(answers.len()),
        whole: number(answers.iter().filter(|(_, answer)| answer.whole).count()),
        first_tries: (number(tries.iter().filter(|whole| **whole).count()), number(tries.len())),
        reflex: middle(|answer| answer.reflex.map(|time| time.0)).map(Seconds),
        pace: middle(|answer| answer.pace.map(|pace| pace.0)).map(Tempo),
    })
}

/// How the seven days are named that end with a day: "The last seven days" only where that day is today.
pub(super) fn seven_days(until: i32) -> String {
    format!("The seven days to {}", date(until))
}

/// Both weeks in one sentence, the earlier one's figures in brackets; `these` names the later one, `reflex` says a time in the player's
/// unit.
pub(super) fn sentence([this, last]: &[WeekRow; 2], these: &str, reflex: impl Fn(Seconds) -> String) -> String {
    let share = |part: u32, of: u32| 100.0 * f64::from(part) / f64::from(of.max(1));
    let mut facts = vec![
        format!("{} with a sitting ({})", many(this.days, "day"), last.days),
        format!("{} of sound ({})", many(minutes(this), "minute"), minutes(last)),
        format!("{} ({})", many(this.answers, "answer"), last.answers),
    ];
    if this.answers > 0 && last.answers > 0 {
        let [now, then] = [this, last].map(|week| share(week.whole, week.answers));
        facts.push(format!("{now:.0} % of them all right ({then:.0} %)"));
        let [(now, of_now), (then, of_then)] = [this.first_tries, last.first_tries];
        facts.push(format!("first tries of a day right {now} of {of_now} ({then} of {of_then})"));
    }
    if let (Some(now), Some(then)) = (this.reflex, last.reflex) {
        facts.push(format!("reflex time {} ({})", reflex(now), reflex(then)));
    }
    if let (Some(now), Some(then)) = (this.pace, last.pace) {
        facts.push(format!("pace {:.0} ({:.0})", now.0, then.0));
    }
    format!("{these} (in brackets the seven before): {}.", facts.join(", "))
}

fn minutes(week: &WeekRow) -> u32 {
    (week.sounding.0 / 60.0).round() as u32
}

fn many(count: u32, thing: &str) -> String {
    numbered(count as usize, thing)
}
