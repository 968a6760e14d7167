//! Takes a line apart: the cheapest account of it in fragments, found by dynamic programming over its first k notes, and other readings
//! of some stretches that cost little more.

use std::ops::Range;

use crate::pattern::family_cost::{FAMILIES, HALF_STEP, LONGEST, Stretch, stretches};
use crate::pattern::model::Family;
use crate::units::rank;

/// The cost of a note in no fragment.
const LEFT_OVER: f64 = 0.90;
/// The extra cost of a fragment that neither begins the line, nor follows a rest, nor begins on the last note of the one before.
const UNJOINED: f64 = 0.35;
/// Another reading of a stretch is kept where the whole line costs at most this much more with it.
const CLOSE: f64 = 0.15;
/// The least number of moves in which another reading has to differ, so that a seam one note earlier or later is not another reading.
const MOVES_APART: usize = 2;

/// What lies between two notes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// No rest: the first note goes on to the second.
    Joined,
    /// A short rest: a fragment may go on over it or end before it.
    Rest,
    /// A long rest: no fragment goes on over it.
    Parting,
}

/// A stretch of a line within one family.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LinePart {
    /// [`Family::Stepwise`], [`Family::HalfSteps`] or [`Family::Skips`].
    pub family: Family,
    /// The notes of the part, by index; the first may be the last of the part before.
    pub notes: Range<usize>,
}

/// A line taken apart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SplitLine {
    /// The parts in order; a note that belongs to no part is in none of the ranges.
    pub parts: Vec<LinePart>,
    /// Other readings of some stretches, in order and without overlap of more than a note: with one of them the whole line costs at most
    /// .15 more.
    pub others: Vec<LinePart>,
}

/// The costs of the cheapest accounts of the first k notes, or of all notes after them. The first index is k; the second says how the
/// first k notes end: with a fragment of the family with that index in [`FAMILIES`], or with a note in no fragment ([`NONE`]).
type Costs = Vec<[f64; 4]>;
/// The ending of an account whose last note is in no fragment.
const NONE: usize = 3;

/// All stretches by the index of their first note, and what lies between the notes.
struct Ways<'l> {
    from: Vec<Vec<Stretch>>,
    between: &'l [Between],
    heights: &'l [i32],
}

/// A step of an account: it adds a fragment or a single note to the notes accounted for. `to` is their number after the step, and their
/// ending; `start` is the first note of the fragment, `None` for a single note.
#[derive(Clone, Copy)]
struct AccountStep {
    start: Option<usize>,
    to: (usize, usize),
    cost: f64,
}

impl Ways<'_> {
    /// Calls `go` with every step that may follow an account of the first `k` notes with this ending.
    fn after(&self, k: usize, ending: usize, mut go: impl FnMut(AccountStep)) {
        let parted = k == 0 || self.between[k - 1] != Between::Joined;
        let apart = if parted { 0.0 } else { UNJOINED };
        go(AccountStep { start: None, to: (k + 1, NONE), cost: LEFT_OVER });
        // Two fragments that run on by step save no half step by parting at it, else a long scale would part there.
        let half_step = !parted && self.heights[k].abs_diff(self.heights[k - 1]) == 1;
        for stretch in &self.from[k] {
            let on = half_step && stretch.place == ending && FAMILIES[ending] == Family::Stepwise;
            let cost = stretch.cost + apart + if on { HALF_STEP } else { 0.0 };
            go(AccountStep { start: Some(k), to: (stretch.end, stretch.place), cost });
        }
        if ending == NONE || parted {
            return;
        }
        for stretch in self.from[k - 1].iter().filter(|stretch| stretch.end > k && stretch.place != ending) {
            go(AccountStep { start: Some(k - 1), to: (stretch.end, stretch.place), cost: stretch.cost });
        }
    }
}

/// Takes a line apart; `between` says what lies between each note and the next. The result depends on the distances between the notes, not
/// on the key. It is empty where `between` has not one entry fewer than `heights`.
#[must_use]
pub fn split(heights: &[i32], between: &[Between]) -> SplitLine {
    let count = heights.len();
    if count == 0 || between.len() + 1 != count {
        return SplitLine::default();
    }
    let from = (0..count).map(|start| {
        let parting = between[start..].iter().position(|one| *one == Between::Parting);
        let end = parting.map_or(count, |after| start + after + 1).min(start + LONGEST);
        let all = stretches(&heights[start..end]).into_iter();
        all.map(|stretch| Stretch { end: start + stretch.end, ..stretch }).collect()
    });
    let ways = Ways { from: from.collect(), between, heights };
    let (best, before) = forward(&ways, count);
    let parts = trace(&best, &before, count);
    let others = others(&ways, &best, &parts, count);
    SplitLine { parts, others }
}

/// For each number of notes and each ending, the first note of the last fragment, and the number of notes and ending before that step.
type CameFrom = Vec<[(Option<usize>, (usize, usize)); 4]>;

fn forward(ways: &Ways, count: usize) -> (Costs, CameFrom) {
    let mut best: Costs = vec![[f64::INFINITY; 4]; count + 1];
    let mut before: CameFrom = vec![[(None, (0, NONE)); 4]; count + 1];
    best[0][NONE] = 0.0;
    for k in 0..count {
        for ending in 0..4 {
            let here = best[k][ending];
            if here.is_infinite() {
                continue;
            }
            ways.after(k, ending, |way| {
                let (to, place) = way.to;
                if here + way.cost < best[to][place] - 1e-9 {
                    best[to][place] = here + way.cost;
                    before[to][place] = (way.start, (k, ending));
                }
            });
        }
    }
    (best, before)
}

fn cheapest(costs: &[f64; 4]) -> usize {
    (0..4).min_by(|a, b| costs[*a].total_cmp(&costs[*b])).unwrap_or(NONE)
}

fn trace(best: &Costs, before: &CameFrom, count: usize) -> Vec<LinePart> {
    let (mut k, mut ending) = (count, cheapest(&best[count]));
    let mut parts = Vec::new();
    while k > 0 {
        let (start, from) = before[k][ending];
        let family = FAMILIES.get(ending);
        parts.extend(start.zip(family).map(|(start, family)| LinePart { family: *family, notes: start..k }));
        (k, ending) = from;
    }
    parts.reverse();
    parts
}

/// The family of each move of the line; `None` for a move between two parts.
fn of_moves(parts: &[LinePart], count: usize) -> Vec<Option<Family>> {
    let mut families = vec![None; count.saturating_sub(1)];
    for part in parts {
        families[part.notes.start..part.notes.end - 1].fill(Some(part.family));
    }
    families
}

fn others(ways: &Ways, best: &Costs, parts: &[LinePart], count: usize) -> Vec<LinePart> {
    let mut rest: Costs = vec![[f64::INFINITY; 4]; count + 1];
    rest[count] = [0.0; 4];
    for k in (0..count).rev() {
        for ending in 0..4 {
            let mut least = f64::INFINITY;
            ways.after(k, ending, |way| least = least.min(way.cost + rest[way.to.0][way.to.1]));
            rest[k][ending] = least;
        }
    }
    let least = best[count][cheapest(&best[count])];
    let chosen = of_moves(parts, count);
    let mut found: Vec<(f64, LinePart)> = Vec::new();
    for (k, costs) in best.iter().enumerate().take(count) {
        for (ending, before) in costs.iter().enumerate() {
            ways.after(k, ending, |way| {
                let all = before + way.cost + rest[way.to.0][way.to.1];
                let (Some(start), Some(family)) = (way.start, FAMILIES.get(way.to.1)) else { return };
                if all > least + CLOSE {
                    return;
                }
                let moves = &chosen[start..way.to.0 - 1];
                let apart = moves.iter().filter(|move_family| **move_family != Some(*family)).count();
                if apart >= MOVES_APART {
                    found.push((all, LinePart { family: *family, notes: start..way.to.0 }));
                }
            });
        }
    }
    found.sort_by_cached_key(|(cost, ..)| rank(*cost));
    let mut kept: Vec<LinePart> = Vec::new();
    for (_, part) in found {
        let over = |there: &LinePart| part.notes.start + 1 < there.notes.end && there.notes.start + 1 < part.notes.end;
        if !kept.iter().any(over) {
            kept.push(part);
        }
    }
    kept.sort_by_cached_key(|part| part.notes.start);
    kept
}
