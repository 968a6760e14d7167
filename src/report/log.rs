//! Weeks at a glance: what was practised, what was kept after a time away, and what was left alone for days.

use std::collections::{BTreeMap, BTreeSet};

use crate::coach::{InUse, TapCounts, TaskCost};
use crate::music::{ConcertKey, Mode, Reading};
use crate::pattern::PatternId;
use crate::report::by_warning::{WarningRow, all_warnings};
use crate::report::date::sunday;
use crate::report::figures::{AnswerFigures, SittingFigures, all_in_use};
use crate::report::judged::number;
use crate::report::kept::{HeldOutKeySummary, KeptAfter, held_out, kept};
use crate::report::steadiness::{Steadiness, steadiness};
use crate::report::takes::back;
use crate::report::weeks::{WeekRow, two_until, week};
use crate::report::whose::together_by;
use crate::session::NamedPlayer;
use crate::units::Seconds;

/// Days without an answer after which a key is left alone, as for the coach.
const AWAY: i32 = 2;
/// Days without practice after which a pattern counts as laid aside.
const ASIDE: i32 = 60;

/// The log of one player on one instrument, or of the simulated player.
#[derive(Debug, Clone, PartialEq)]
pub struct LogPart {
    /// Who played, under the latest name; `None` in records from before players had ids.
    pub player: Option<NamedPlayer>,
    /// Id of the instrument.
    pub instrument: String,
    /// Whether the simulated player answered.
    pub simulated: bool,
    /// How the player reads (as in the latest sitting).
    pub reading: Reading,
    /// First and last day with a sitting, days since 1970-01-01.
    pub from_to: (i32, i32),
    /// Number of sittings, and of days with one.
    pub sittings: (u32, u32),
    /// Length of the player's own sound in all sittings.
    pub sounding: Seconds,
    /// Calendar weeks with a sitting, Monday to Sunday (ISO 8601), the latest first.
    pub weeks: Vec<LogWeek>,
    /// The seven days that end today, and the seven before, where both have a sitting.
    pub this_against_last: Option<[WeekRow; 2]>,
    /// First answers after a week and after a month away.
    pub kept: [KeptAfter; 2],
    /// Keys that were held out of practice.
    pub held_out: Vec<HeldOutKeySummary>,
    /// Keys that were told late, all of them together.
    pub late: Option<WarningRow>,
    /// Rounds without a stop, in order: for each the number of answers all right and on their beat, and of all that were asked.
    pub rounds: Vec<(u32, u32)>,
    /// Answers by ear alone: all right, all that count, and in how many sittings.
    pub by_ear: (u32, u32, u32),
    /// Answers that count with key and pattern shown: all right, and all.
    pub shown: (u32, u32),
    /// What a second task cost in all, and how the numbers came out.
    pub second_task: Option<(TaskCost, TapCounts)>,
    /// What passed in phrases over a form.
    pub in_use: InUse,
    /// How steady the reflex times are.
    pub steadiness: Option<Steadiness>,
    /// Keys that were left alone, longest first.
    pub returning: Vec<Returning>,
}

/// One calendar week.
#[derive(Debug, Clone, PartialEq)]
pub struct LogWeek {
    /// The figures of the week.
    pub row: WeekRow,
    /// What was practised: the plain name of a pattern and its answers, the most first.
    pub practised: Vec<(String, u32)>,
}

/// A key of a pattern that was left alone for days.
#[derive(Debug, Clone, PartialEq)]
pub struct Returning {
    /// The pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub title: String,
    /// The key, as it sounds.
    pub key: ConcertKey,
    /// The mode of the pattern, by which the key is spelled.
    pub mode: Mode,
    /// Number of days since it was last answered.
    pub days: i32,
    /// Number of right notes in the last answer.
    pub right: u32,
    /// Number of notes expected.
    pub of: u32,
    /// Whether the last answer was all right.
    pub whole: bool,
}

/// The log of these sittings. The sittings of one player on one instrument are taken together, those of the simulated player apart.
#[must_use]
pub fn log(sittings: &[SittingFigures], today: i32) -> Vec<LogPart> {
    let groups = together_by(&sittings.iter().map(|sitting| &sitting.began).collect::<Vec<_>>());
    let of = |group: Vec<usize>| part(&group.into_iter().map(|at| sittings[at].clone()).collect::<Vec<_>>(), today);
    groups.into_iter().filter_map(of).collect()
}

/// The log of one player on one instrument; the sittings are in the order of time.
fn part(sittings: &[SittingFigures], today: i32) -> Option<LogPart> {
    let (first, last) = (&sittings.first()?.began, &sittings.last()?.began);
    let days: BTreeSet<i32> = sittings.iter().map(|sitting| sitting.began.day).collect();
    let sundays: BTreeSet<i32> = days.iter().map(|day| sunday(*day)).collect();
    Some(LogPart {
        player: last.player.clone(),
        instrument: first.instrument.clone(),
        simulated: first.simulated,
        reading: last.reading,
        from_to: (first.day, last.day),
        sittings: (number(sittings.len()), number(days.len())),
        sounding: Seconds(sittings.iter().map(|sitting| sitting.sounding.0).sum()),
        weeks: sundays.iter().rev().filter_map(|until| log_week(*until, sittings)).collect(),
        this_against_last: two_until(today, sittings),
        kept: kept(&back(sittings)),
        held_out: held_out(sittings),
        late: all_warnings(sittings.iter().flat_map(|sitting| &sitting.late)),
        rounds: sittings.iter().flat_map(|sitting| sitting.rounds.iter().copied()).collect(),
        by_ear: by_ear(sittings.iter().map(|sitting| sitting.by_ear)),
        shown: shown(sittings),
        second_task: sittings.iter().filter_map(|it| it.second_task).reduce(|a, b| (a.0.and(&b.0), a.1.and(&b.1))),
        in_use: all_in_use(sittings),
        steadiness: steadiness(sittings),
        returning: returning(sittings, today),
    })
}

/// Answers by ear alone over several sittings: all right, all that count, and in how many sittings.
pub(super) fn by_ear(sittings: impl Iterator<Item = (u32, u32)>) -> (u32, u32, u32) {
    sittings
        .filter(|it| it.1 > 0)
        .fold((0, 0, 0), |all, it| (all.0.saturating_add(it.0), all.1.saturating_add(it.1), all.2.saturating_add(1)))
}

/// Answers that count and were not by ear alone: all right, and all.
fn shown(sittings: &[SittingFigures]) -> (u32, u32) {
    let answers = sittings.iter().flat_map(|sitting| &sitting.answers);
    let (whole, of) = answers.fold((0u32, 0u32), |(whole, of), it| (whole + u32::from(it.whole), of + 1));
    let ear = by_ear(sittings.iter().map(|sitting| sitting.by_ear));
    (whole.saturating_sub(ear.0), of.saturating_sub(ear.1))
}

fn log_week(until: i32, sittings: &[SittingFigures]) -> Option<LogWeek> {
    let row = week(until, sittings)?;
    let mine = sittings.iter().filter(|sitting| sunday(sitting.began.day) == until);
    let mut practised: Vec<(&PatternId, String, u32)> = Vec::new();
    for answer in mine.flat_map(|sitting| &sitting.answers) {
        match practised.iter_mut().find(|(pattern, ..)| **pattern == answer.pattern) {
            Some((_, _, answers)) => *answers += 1,
            None => practised.push((&answer.pattern, answer.title.clone(), 1)),
        }
    }
    practised.sort_by_cached_key(|(.., answers)| -i64::from(*answers));
    Some(LogWeek { row, practised: practised.into_iter().map(|(_, title, answers)| (title, answers)).collect() })
}

/// The keys that were left alone in the patterns that are practised. A key that is still held out is not among them: it was left alone on
/// purpose.
fn returning(sittings: &[SittingFigures], today: i32) -> Vec<Returning> {
    let mut latest: BTreeMap<(&PatternId, usize), (i32, &AnswerFigures)> = BTreeMap::new();
    let mut practised: BTreeMap<&PatternId, i32> = BTreeMap::new();
    for sitting in sittings {
        for answer in &sitting.answers {
            latest.insert((&answer.pattern, answer.key.place()), (sitting.began.day, answer));
            practised.insert(&answer.pattern, sitting.began.day);
        }
    }
    let out: Vec<usize> = held_out(sittings).iter().filter(|it| today < it.until).map(|it| it.key.place()).collect();
    let away = |day: i32| today.saturating_sub(day);
    let current = |pattern: &PatternId| practised.get(pattern).is_some_and(|day| away(*day) <= ASIDE);
    let mut found: Vec<Returning> = latest
        .into_iter()
        .filter(|((pattern, key), (day, _))| away(*day) >= AWAY && current(pattern) && !out.contains(key))
        .map(|((pattern, _), (day, answer))| Returning {
            pattern: pattern.clone(),
            title: answer.title.clone(),
            key: answer.key,
            mode: answer.mode,
            days: away(day),
            right: answer.right,
            of: answer.of,
            whole: answer.whole,
        })
        .collect();
    found.sort_by_cached_key(|it| -i64::from(it.days));
    found
}
