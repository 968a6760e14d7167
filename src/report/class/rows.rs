use crate::music::Reading;
use crate::report::called::called;
use crate::report::class::lessons::lessons;
use crate::report::class::reasons::reasons;
use crate::report::class::weak::weakest;
use crate::report::class::{ClassReason, ClassSitting, LessonDone, WeakKey};
use crate::report::figures::SittingFigures;
use crate::report::weeks::{WEEK, WeekRow, week};
use crate::report::whose::together_by;
use crate::session::{LessonMark, NamedPlayer};

/// One player on one instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassRow {
    /// Who plays, under the latest name.
    pub player: Option<NamedPlayer>,
    /// How the row calls the player.
    pub called: String,
    /// Id of the instrument.
    pub instrument: String,
    /// Whether the simulated player answered.
    pub simulated: bool,
    /// How the player reads (as in the latest sitting).
    pub reading: Reading,
    /// The last day with a sitting, days since 1970-01-01.
    pub last: i32,
    /// The figures of the seven days that end today; `None` where no sitting falls into these days.
    pub this: Option<WeekRow>,
    /// The figures of the seven days before; `None` where no sitting falls into these days.
    pub before: Option<WeekRow>,
    /// The weakest keys and what they lack, the weakest first.
    pub weakest: Vec<WeakKey>,
    /// The reasons to look at this player first.
    pub reasons: Vec<ClassReason>,
    /// What of lessons is done.
    pub lessons: Vec<LessonDone>,
}

/// One row for each player and instrument: those with a reason first, then by name. `set` are the lessons that everybody should do.
/// Sittings dated after `today` do not count.
#[must_use]
pub fn class(sittings: &[ClassSitting], set: &[LessonMark], today: i32) -> Vec<ClassRow> {
    let known: Vec<&ClassSitting> = sittings.iter().filter(|it| it.figures.began.day <= today).collect();
    let groups = together_by(&known.iter().map(|it| &it.figures.began).collect::<Vec<_>>());
    let of = |group: Vec<usize>| row(&group.into_iter().map(|at| known[at]).collect::<Vec<_>>(), set, today);
    let mut rows: Vec<ClassRow> = groups.into_iter().filter_map(of).collect();
    let players: Vec<Option<NamedPlayer>> = rows.iter().map(|row| row.player.clone()).collect();
    let players: Vec<Option<&NamedPlayer>> = players.iter().map(Option::as_ref).collect();
    for row in &mut rows {
        let name = called(row.player.as_ref(), &players);
        row.called = match (&row.player, row.simulated) {
            (None, true) => "simulated".to_owned(),
            (Some(_), true) => format!("{name} (simulated)"),
            (_, false) => name,
        };
    }
    let order = |row: &ClassRow| {
        (row.reasons.is_empty(), row.called.to_lowercase(), row.player.as_ref().map(|player| player.id))
    };
    rows.sort_by(|a, b| order(a).cmp(&order(b)).then_with(|| a.instrument.cmp(&b.instrument)));
    rows
}

/// The row of one player on one instrument; the sittings are in the order of time.
fn row(sittings: &[&ClassSitting], set: &[LessonMark], today: i32) -> Option<ClassRow> {
    let last = &sittings.last()?.figures.began;
    let figures: Vec<SittingFigures> = sittings.iter().map(|it| it.figures.clone()).collect();
    Some(ClassRow {
        player: last.player.clone(),
        called: String::new(),
        instrument: last.instrument.clone(),
        simulated: last.simulated,
        reading: last.reading,
        last: last.day,
        this: week(today, &figures),
        before: week(today.saturating_sub(WEEK), &figures),
        weakest: weakest(sittings),
        reasons: reasons(sittings, today),
        lessons: lessons(sittings, set, today),
    })
}
