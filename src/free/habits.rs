use std::collections::HashMap;

use super::chance::{PARTED, ScaleChain, surprise};
use super::stock::PatternStock;

/// The number of moves of a cell that is looked for.
const MOVES: std::ops::RangeInclusive<usize> = 4..=12;

/// A cell, a few notes in a row, that came at least twice.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct RepeatedCell {
    /// The moves from note to note, in half steps.
    pub moves: Vec<i32>,
    /// The index of the first note of the cell, for each time the cell came.
    pub at: Vec<usize>,
    /// How often chance is expected to give the cell in this line.
    pub expected: f64,
    /// How far beyond chance the number of places of the cell lies ([`surprise`]).
    pub surprise: f64,
}

/// Those of the places `at`, from the first on, whose `moves` moves do not overlap.
pub(super) fn apart(at: impl IntoIterator<Item = usize>, moves: usize) -> Vec<usize> {
    let mut kept: Vec<usize> = Vec::new();
    for place in at {
        if kept.last().is_none_or(|last| last + moves <= place) {
            kept.push(place);
        }
    }
    kept
}

/// All cells of [`MOVES`] moves, not all of them on one pitch, that come at least twice without overlap and are no patterns of the stock,
/// the most surprising first.
pub(super) fn cells(moves: &[i32], chain: &ScaleChain, stock: &PatternStock) -> Vec<RepeatedCell> {
    let mut found = Vec::new();
    for length in MOVES {
        let mut places: HashMap<&[i32], Vec<usize>> = HashMap::new();
        for (at, cell) in moves.windows(length).enumerate() {
            if !cell.contains(&PARTED) && cell.iter().any(|by| *by != 0) {
                places.entry(cell).or_default().push(at);
            }
        }
        for (cell, at) in places.into_iter().filter(|(_, at)| at.len() > 1) {
            let at = apart(at, length);
            if at.len() > 1 && !stock.is_pattern(cell) {
                let expected = chain.expected(cell);
                let surprise = surprise(at.len(), expected);
                found.push(RepeatedCell { moves: cell.to_vec(), at, expected, surprise });
            }
        }
    }
    // The hash map hands the cells back in any order, so cells that are equally surprising are sorted by place and moves.
    found.sort_by(|a, b| b.surprise.total_cmp(&a.surprise).then_with(|| a.at.cmp(&b.at)).then(a.moves.cmp(&b.moves)));
    found
}

/// Whether `piece`, at least half of `cell`, came twice more at least than `cell`: then what comes after it, or before it, is no part of it.
fn goes_on_otherwise(piece: &RepeatedCell, cell: &RepeatedCell) -> bool {
    let (short, long) = (piece.moves.len(), cell.moves.len());
    let half = short < long && 2 * short >= long && piece.at.len() >= cell.at.len() + 2;
    half && cell.moves.windows(short).any(|moves| moves == piece.moves)
}

/// The cells that are more surprising than `bound`. Where two of them overlap, the more surprising one keeps the place; `taken` are
/// stretches of moves that belong to a pattern already. A cell is kept only where the places left to it are two at least and still more
/// surprising than `bound`.
pub(super) fn habits(all: Vec<RepeatedCell>, bound: f64, taken: &[std::ops::Range<usize>]) -> Vec<RepeatedCell> {
    let mut kept: Vec<RepeatedCell> = Vec::new();
    let beyond: Vec<RepeatedCell> = all.into_iter().take_while(|cell| cell.surprise > bound).collect();
    for mut cell in beyond.iter().filter(|cell| !beyond.iter().any(|piece| goes_on_otherwise(piece, cell))).cloned() {
        let length = cell.moves.len();
        // Whether the cell at `at` has a move in common with another stretch.
        let shares = |at: usize, other: &std::ops::Range<usize>| at < other.end && other.start < at + length;
        let covered = |at: &usize| taken.iter().any(|one| shares(*at, one));
        let theirs = |at: &usize| {
            kept.iter().any(|one| one.at.iter().any(|first| shares(*at, &(*first..first + one.moves.len()))))
        };
        cell.at.retain(|at| !covered(at) && !theirs(at));
        cell.surprise = surprise(cell.at.len(), cell.expected);
        if cell.at.len() > 1 && cell.surprise > bound {
            kept.push(cell);
        }
    }
    kept
}
