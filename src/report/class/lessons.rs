use std::collections::{BTreeMap, BTreeSet};

use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::report::class::ClassSitting;
use crate::report::date::day_of;
use crate::report::judged::number;
use crate::report::traded::TradedPhrases;
use crate::session::LessonMark;

/// A lesson is listed no more so many days after its date (without a date: after its last sitting), unless it is one of those that
/// everybody should do.
const TOLD: i32 = 14;

/// What of a lesson is done.
#[derive(Debug, Clone, PartialEq)]
pub struct LessonDone {
    /// The lesson, as the records name it.
    pub lesson: LessonMark,
    /// Number of days with an answer to the lesson that counts, up to its date.
    pub days: u32,
    /// Pairs of a pattern and a key of the lesson that were answered, and all pairs that fit the player's range; `None` where no
    /// drill of the lesson was begun.
    pub answered: Option<(u32, u32)>,
    /// Number of first answers to these pairs that were all right.
    pub whole: u32,
    /// How many patterns the lesson sets; 0 where no drill of it was begun.
    pub patterns: u32,
    /// What was done after the date of the lesson: number of days with an answer that counts, and of pairs that were answered then
    /// for the first time.
    pub afterwards: (u32, u32),
    /// Whether the lesson that is set has the same name and another text: somebody changed one of the two files.
    pub other_text: bool,
    /// The charts of the lesson.
    pub charts: Vec<ChartDone>,
}

/// What of one chart of a lesson is done, up to the date of the lesson.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChartDone {
    /// The chart, as the lesson writes it.
    pub chart: String,
    /// Phrases that were sounded, that were answered, and that came back all right.
    pub phrases: [u32; 3],
}

/// One row for each lesson that this player began and whose date is not long gone, and for each of `set`, begun or not.
pub(super) fn lessons(sittings: &[&ClassSitting], set: &[LessonMark], today: i32) -> Vec<LessonDone> {
    let mut begun: Vec<(&LessonMark, Vec<&ClassSitting>)> = Vec::new();
    for sitting in sittings {
        let Some(mark) = &sitting.figures.began.lesson else { continue };
        match begun.iter_mut().find(|(known, _)| known.sha256 == mark.sha256) {
            Some((known, mine)) => {
                mine.push(sitting);
                // A record from before trades were recorded names no charts.
                *known = if known.charts.is_empty() { mark } else { known };
            }
            None => begun.push((mark, vec![sitting])),
        }
    }
    let current = |mark: &LessonMark, mine: &[&ClassSitting]| {
        let until = mark.by.as_deref().and_then(day_of);
        let until = until.or(mine.last().map(|last| last.figures.began.day)).unwrap_or(today);
        until > today.saturating_sub(TOLD) || set.iter().any(|set| set.sha256 == mark.sha256)
    };
    let not_begun = set.iter().filter(|set| begun.iter().all(|(mark, _)| mark.sha256 != set.sha256));
    let nothing: Vec<LessonDone> = not_begun.map(|set| done(set, &[])).collect();
    let begun = begun.into_iter().filter(|(mark, mine)| current(mark, mine));
    let changed = |mark: &LessonMark| set.iter().any(|set| set.name == mark.name && set.sha256 != mark.sha256);
    let begun = begun.map(|(mark, mine)| LessonDone { other_text: changed(mark), ..done(mark, &mine) });
    begun.chain(nothing).collect()
}

fn done(mark: &LessonMark, sittings: &[&ClassSitting]) -> LessonDone {
    let until = mark.by.as_deref().and_then(day_of).unwrap_or(i32::MAX);
    let (mine, late): (Vec<&&ClassSitting>, Vec<&&ClassSitting>) =
        sittings.iter().partition(|it| it.figures.began.day <= until);
    let answered_in = |it: &&&ClassSitting| (!it.figures.answers.is_empty()).then_some(it.figures.began.day);
    let days: BTreeSet<i32> = mine.iter().filter_map(answered_in).collect();
    let mut first: BTreeMap<(&PatternId, ConcertKey), bool> = BTreeMap::new();
    for answer in mine.iter().flat_map(|it| &it.figures.answers) {
        first.entry((&answer.pattern, answer.key)).or_insert(answer.whole);
    }
    let asked: BTreeSet<(&PatternId, ConcertKey)> = sittings.iter().flat_map(|it| pairs(it)).collect();
    first.retain(|pair, _| asked.contains(pair));
    let late_days: BTreeSet<i32> = late.iter().filter_map(answered_in).collect();
    let late_answers = late.iter().flat_map(|it| &it.figures.answers).map(|it| (&it.pattern, it.key));
    let late_pairs: BTreeSet<(&PatternId, ConcertKey)> =
        late_answers.filter(|pair| asked.contains(pair) && !first.contains_key(pair)).collect();
    LessonDone {
        lesson: mark.clone(),
        days: number(days.len()),
        answered: (!asked.is_empty()).then_some((number(first.len()), number(asked.len()))),
        whole: number(first.values().filter(|whole| **whole).count()),
        patterns: number(asked.iter().map(|(pattern, _)| pattern).collect::<BTreeSet<_>>().len()),
        afterwards: (number(late_days.len()), number(late_pairs.len())),
        other_text: false,
        charts: mark.charts.iter().map(|chart| chart_done(chart, &mine)).collect(),
    }
}

fn chart_done(chart: &str, sittings: &[&&ClassSitting]) -> ChartDone {
    let mine = sittings
        .iter()
        .filter_map(|it| it.traded.as_ref())
        .filter(|it| it.mark.chart == chart && it.mark.free.is_none());
    let add = |[phrases, answered, whole]: [u32; 3], it: &TradedPhrases| {
        [phrases + it.phrases, answered + it.answered, whole + it.whole]
    };
    ChartDone { chart: chart.to_owned(), phrases: mine.fold([0; 3], add) }
}

/// Every pattern of a sitting in every key in which it may be asked.
fn pairs(sitting: &ClassSitting) -> impl Iterator<Item = (&PatternId, ConcertKey)> {
    let began = &sitting.figures.began;
    let keys = move |pattern| began.keys.iter().map(move |key| (pattern, *key));
    began.patterns.iter().flat_map(keys).filter(|(pattern, key)| !began.out_of_range.contains(pattern, *key))
}
