//! Which notes of a run moved while they sounded: most of them, most of those from some note on or on one way, or single ones.

use std::collections::BTreeMap;

use crate::music::Concert;
use crate::report::judged::number;
use crate::report::moved::MovedWhere;
use crate::report::placed::Placed;
use crate::report::trend::NORMAL;
use crate::units::{Cents, median, rank, spread};

/// Smallest number of notes that tell whether the player moves all notes alike.
const ALL_MOVE: usize = 6;
/// Smallest sag or rise within its notes that is a habit of the run, in cents.
const MOVES: f64 = 15.0;
/// Share of the notes that must move by half of that at least for a habit.
const MOST: f64 = 0.75;
/// A note is told by itself where it moves by more than this, in cents, and more than the others by so many of their standard deviations:
/// many instruments rise into every note.
const MOVES_ALONE: (f64, f64) = (20.0, 3.0);
/// The same distance for a single note, in cents.
const ONLY_NOTE: f64 = 10.0;
/// One note in so many may be an exception to what the notes of a part do, or do it outside of it.
const EXCEPTION: usize = 8;
/// Smallest number of notes outside a part.
const OUTSIDE: usize = 3;

/// A part of a run whose notes move while they sound, and the others do not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartMoves {
    /// How far they move, the median; above 0 is upwards.
    pub by: Cents,
    /// Which notes these are.
    pub part: RunPart,
}

/// A part of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RunPart {
    /// All notes from this place among those heard, counted from 0; and the pitch of that note.
    From(usize, Concert),
    /// The notes reached from above.
    Down,
    /// The notes reached from below.
    Up,
}

impl RunPart {
    fn holds(self, note: &Placed) -> bool {
        match self {
            Self::From(n, _) => note.n >= n,
            Self::Down => note.way < 0.0,
            Self::Up => note.way > 0.0,
        }
    }
}

impl PartMoves {
    /// Whether a note is one of those that move so.
    fn holds(self, note: &Placed) -> bool {
        self.part.holds(note) && moves(note) == self.by.0.signum()
    }

    /// The notes with what this movement makes of their cents taken out: a note that sags by 20 from its pitch lies 10 below it.
    pub(super) fn without(self, placed: &[Placed]) -> Vec<Placed> {
        let still = |note: &Placed| {
            let by = note.moved.filter(|_| self.holds(note)).map_or(0.0, |moved| moved.by.0);
            Placed { off: note.off - 0.5 * by, ..*note }
        };
        placed.iter().map(still).collect()
    }
}

/// Whether a note moves far enough for a habit: -1 downwards, 1 upwards, 0 not.
fn moves(note: &Placed) -> f64 {
    note.moved.filter(|moved| moved.by.0.abs() >= MOVES).map_or(0.0, |moved| moved.by.0.signum())
}

/// The part of a run whose notes sag, or rise, where the others do neither; `None` where there is none.
pub(super) fn part_moves(placed: &[Placed]) -> Option<PartMoves> {
    let known: Vec<&Placed> = placed.iter().filter(|note| note.moved.is_some()).collect();
    let from = known.iter().map(|note| RunPart::From(note.n, Concert(note.pitch)));
    let parts: Vec<RunPart> = [RunPart::Down, RunPart::Up].into_iter().chain(from).collect();
    let wrong =
        |part: RunPart, side: f64| known.iter().filter(|note| (moves(note) == side) != part.holds(note)).count();
    let sides = [-1.0, 1.0].into_iter().flat_map(|side| parts.iter().map(move |part| (*part, side)));
    // Of two parts that fit alike the first counts: a way down rather than the notes from the highest on.
    let (part, side) = sides.min_by_key(|(part, side)| wrong(*part, *side))?;
    let inside: Vec<&&Placed> = known.iter().filter(|note| part.holds(note) && moves(note) == side).collect();
    let enough = inside.len() >= ALL_MOVE && known.len() >= inside.len() + OUTSIDE;
    let by: Vec<f64> = inside.iter().filter_map(|note| Some(note.moved?.by.0)).collect();
    let told = enough && EXCEPTION * wrong(part, side) <= known.len();
    told.then_some(PartMoves { by: Cents(median(&by)?), part })
}

/// A pitch that moved while it sounded.
#[derive(Debug, Clone, PartialEq)]
pub struct MovedRow {
    /// The pitch.
    pub pitch: Concert,
    /// How far it moved from beginning to end, the median of the notes that did; above 0 is upwards.
    pub by: Cents,
    /// Where in the note it moved.
    pub place: MovedWhere,
    /// Number of notes of this pitch that moved so, and of all its notes that count.
    pub times: (u32, u32),
    /// The way on which all of these notes lie and none of the others of this pitch; `None` where there is no such way.
    pub way: Option<&'static str>,
    /// The places of these notes among those heard, from 0.
    pub places: Vec<usize>,
}

/// How far the notes of a run move from their beginning to their end, where most of them move alike.
pub(super) fn notes_move(placed: &[Placed]) -> Option<f64> {
    let by: Vec<f64> = placed.iter().filter_map(|note| Some(note.moved?.by.0)).collect();
    let middle = median(&by).filter(|by_all| by.len() >= ALL_MOVE && by_all.abs() >= MOVES)?;
    let alike = by.iter().filter(|by| **by * middle.signum() >= 0.5 * middle.abs()).count();
    (alike as f64 >= MOST * by.len() as f64).then_some(middle)
}

/// The pitches that moved while they sounded by more than `MOVES_ALONE` and more than the others, the farthest first.
pub(super) fn moved_rows(placed: &[Placed], part: Option<PartMoves>) -> Vec<MovedRow> {
    let all: Vec<f64> = placed.iter().filter_map(|note| Some(note.moved?.by.0)).collect();
    let usual = |of: fn(&[f64]) -> Option<f64>| of(&all).filter(|_| all.len() >= ALL_MOVE).unwrap_or(0.0);
    let (middle, scatter) = (usual(median), NORMAL * usual(spread));
    let (least, sure) = MOVES_ALONE;
    // A tone that sounds alone has nothing beside it to be told first.
    let least = if placed.len() == 1 { ONLY_NOTE } else { least };
    let alone = |by: f64| by.abs() > least && (by - middle) * by.signum() > least.max(sure * scatter);
    let mut found: BTreeMap<(i32, MovedWhere), Vec<&Placed>> = BTreeMap::new();
    for (note, moved) in placed.iter().filter_map(|note| Some((note, note.moved?))) {
        if alone(moved.by.0) && !part.is_some_and(|part| part.holds(note)) {
            found.entry((note.pitch, moved.place)).or_default().push(note);
        }
    }
    let row = |((pitch, place), moved): ((i32, MovedWhere), Vec<&Placed>)| {
        let of: Vec<&Placed> = placed.iter().filter(|note| note.pitch == pitch).collect();
        let places: Vec<usize> = moved.iter().map(|note| note.n).collect();
        let by: Vec<f64> = moved.iter().filter_map(|note| Some(note.moved?.by.0)).collect();
        let others = || of.iter().filter(|note| !places.contains(&note.n));
        let only = |way: f64| moved.iter().all(|it| it.way == way) && others().all(|it| it.way == -way);
        let way = if only(1.0) { Some("up") } else { only(-1.0).then_some("down") };
        let times = (number(moved.len()), number(of.len()));
        Some(MovedRow { pitch: Concert(pitch), by: Cents(median(&by)?), place, times, way, places })
    };
    let mut rows: Vec<MovedRow> = found.into_iter().filter_map(row).collect();
    rows.sort_by_cached_key(|row| rank(-row.by.abs().0));
    rows
}
