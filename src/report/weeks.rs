//! The last seven days against the seven before: what a lesson a week asks for.

use std::collections::BTreeSet;

use crate::report::judged::{Judged, number};
use crate::session::Session;
use crate::units::{Seconds, Tempo, median};
use crate::words::numbers::numbered;

/// Days of a week.
const WEEK: i32 = 7;

/// Seven days of one player on one instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekRow {
    /// Last calendar day of the seven, days since 1970-01-01.
    pub until: i32,
    /// Days with a sitting.
    pub days: u32,
    /// The player's own sound.
    pub sounding: Seconds,
    /// Answers that count.
    pub answers: u32,
    /// Whole ones among them.
    pub whole: u32,
    /// First answers of a day to a pattern in a key, whole ones and all.
    pub first_tries: (u32, u32),
    /// Middle reflex time of free answers that count.
    pub reflex: Option<Seconds>,
    /// Middle pace of answers in tempo that passed.
    pub pace: Option<Tempo>,
}

/// The seven days that end with the last sitting, and the seven before; `None` where one of the two has no sitting. The
/// sittings are in the order of time.
pub(super) fn last_two(sessions: &[&Session], judged: &[Judged<'_>]) -> Option<[WeekRow; 2]> {
    let last = sessions.last()?.began.day;
    let this = week(last, sessions, judged)?;
    Some([this, week(last.saturating_sub(WEEK), sessions, judged)?])
}

fn week(until: i32, sessions: &[&Session], judged: &[Judged<'_>]) -> Option<WeekRow> {
    let within = |day: i32| day <= until && day > until.saturating_sub(WEEK);
    let mine: Vec<&&Session> = sessions.iter().filter(|session| within(session.began.day)).collect();
    let days: BTreeSet<i32> = mine.iter().map(|session| session.began.day).collect();
    if days.is_empty() {
        return None;
    }
    let answers: Vec<&Judged<'_>> = judged.iter().filter(|answer| within(answer.session.began.day)).collect();
    let mut tried = BTreeSet::new();
    let tries: Vec<bool> = answers
        .iter()
        .filter(|it| tried.insert((it.session.began.day, it.trial.cue.key.place(), &it.trial.cue.pattern)))
        .map(|answer| answer.verdict.whole())
        .collect();
    let middle = |of: fn(&Judged<'_>) -> Option<f64>| {
        median(&answers.iter().filter_map(|answer| of(answer)).collect::<Vec<f64>>())
    };
    Some(WeekRow {
        until,
        days: number(days.len()),
        sounding: Seconds(mine.iter().map(|session| session.sounding().0).sum()),
        answers: number(answers.len()),
        whole: number(answers.iter().filter(|answer| answer.verdict.whole()).count()),
        first_tries: (number(tries.iter().filter(|whole| **whole).count()), number(tries.len())),
        reflex: middle(|answer| answer.reflex()).map(Seconds),
        pace: middle(|answer| answer.pace()).map(Tempo),
    })
}

/// Both weeks in one sentence, the earlier one's figures in brackets; `reflex` says a time in the player's unit.
pub(super) fn told([this, last]: &[WeekRow; 2], reflex: impl Fn(Seconds) -> String) -> String {
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
    format!("The last seven days (in brackets the seven before): {}.", facts.join(", "))
}

fn minutes(week: &WeekRow) -> u32 {
    (week.sounding.0 / 60.0).round() as u32
}

fn many(count: u32, thing: &str) -> String {
    numbered(count as usize, thing)
}
