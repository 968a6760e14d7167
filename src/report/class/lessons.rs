use std::collections::{BTreeMap, BTreeSet};

use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::report::class::ClassSitting;
use crate::report::date::day_of;
use crate::report::judged::number;
use crate::session::LessonMark;

/// Days after its date for which a lesson is still listed.
const TOLD: i32 = 14;

/// What of a lesson is done.
#[derive(Debug, Clone, PartialEq)]
pub struct LessonDone {
    /// The lesson, as the records name it.
    pub lesson: LessonMark,
    /// Number of days on which it was practised, up to its date.
    pub days: u32,
    /// Pairs of a pattern and a key of the lesson that were answered, and all pairs that fit the player's range; `None` where the
    /// lesson was never begun.
    pub answered: Option<(u32, u32)>,
    /// Number of first answers to these pairs that were all right.
    pub whole: u32,
}

/// One row for each lesson that this player began, and for each of `set` that was not begun.
pub(super) fn lessons(sittings: &[&ClassSitting], set: &[LessonMark], today: i32) -> Vec<LessonDone> {
    let mut begun: Vec<(&LessonMark, Vec<&ClassSitting>)> = Vec::new();
    for sitting in sittings {
        let Some(mark) = &sitting.figures.began.lesson else { continue };
        match begun.iter_mut().find(|(known, _)| known.sha256 == mark.sha256) {
            Some((_, mine)) => mine.push(sitting),
            None => begun.push((mark, vec![sitting])),
        }
    }
    let current = |mark: &LessonMark, mine: &[&ClassSitting]| {
        let until = mark.by.as_deref().and_then(day_of);
        let until = until.or(mine.last().map(|last| last.figures.began.day)).unwrap_or(today);
        until > today.saturating_sub(TOLD) || set.iter().any(|set| set.sha256 == mark.sha256)
    };
    let not_begun = set.iter().filter(|set| begun.iter().all(|(mark, _)| mark.sha256 != set.sha256));
    let nothing: Vec<LessonDone> =
        not_begun.map(|set| LessonDone { lesson: set.clone(), days: 0, answered: None, whole: 0 }).collect();
    let mut all: Vec<LessonDone> =
        begun.into_iter().filter(|(mark, mine)| current(mark, mine)).map(|(mark, mine)| done(mark, &mine)).collect();
    all.extend(nothing);
    all
}

fn done(mark: &LessonMark, sittings: &[&ClassSitting]) -> LessonDone {
    let until = mark.by.as_deref().and_then(day_of).unwrap_or(i32::MAX);
    let mine: Vec<&&ClassSitting> = sittings.iter().filter(|it| it.figures.began.day <= until).collect();
    let answered_in = |it: &&&ClassSitting| (!it.figures.answers.is_empty()).then_some(it.figures.began.day);
    let days: BTreeSet<i32> = mine.iter().filter_map(answered_in).collect();
    let mut first: BTreeMap<(&PatternId, ConcertKey), bool> = BTreeMap::new();
    for answer in mine.iter().flat_map(|it| &it.figures.answers) {
        first.entry((&answer.pattern, answer.key)).or_insert(answer.whole);
    }
    let asked: BTreeSet<(&PatternId, ConcertKey)> = sittings.iter().flat_map(|it| pairs(it)).collect();
    first.retain(|pair, _| asked.contains(pair));
    LessonDone {
        lesson: mark.clone(),
        days: number(days.len()),
        answered: Some((number(first.len()), number(asked.len()))),
        whole: number(first.values().filter(|whole| **whole).count()),
    }
}

/// Every pattern of a sitting in every key in which it may be asked.
fn pairs(sitting: &ClassSitting) -> impl Iterator<Item = (&PatternId, ConcertKey)> {
    let began = &sitting.figures.began;
    let keys = move |pattern| began.keys.iter().map(move |key| (pattern, *key));
    began.patterns.iter().flat_map(keys).filter(|(pattern, key)| !began.out_of_range.contains(pattern, *key))
}
