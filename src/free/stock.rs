use crate::music::Degree;
use crate::pattern::{Pattern, from_degree, starts};

use super::chance::PARTED;

/// The fewest notes of a pattern that is looked for; shorter ones turn up in every line.
const FEWEST_NOTES: usize = 4;
/// A pattern of at least this many moves is also found with one note changed.
const CHANGEABLE: usize = 6;
/// The most half steps by which a changed note may differ from the pattern's.
const CHANGED_BY: i32 = 2;

/// One way in which a pattern sounds: as it is written, or begun on another degree of its scale or chord.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PatternWay {
    /// The place of the pattern in the stock.
    pub pattern: usize,
    /// The degree on which the way begins; `None` for the degree on which the pattern is written.
    pub start: Option<Degree>,
    /// The distance from the tonic up to the first note of the way, in half steps.
    pub first: i32,
    /// The moves from note to note, in half steps.
    pub moves: Vec<i32>,
}

/// One place in a line at which a way of a pattern was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Hit {
    /// The index of the first note in the line.
    pub at: usize,
    /// The way in which the pattern came, by index in [`PatternStock::ways`].
    pub way: usize,
    /// The note that is changed, counted from 0 at the first note of the pattern, and by how many half steps; `None` where none is.
    pub changed: Option<(usize, i32)>,
}

#[derive(Default)]
struct Node {
    next: Vec<(i32, usize)>,
    ends: Vec<usize>,
}

/// The patterns that are looked for.
pub(super) struct PatternStock<'l> {
    /// The patterns of [`FEWEST_NOTES`] notes or more.
    pub patterns: Vec<&'l Pattern>,
    /// All ways in which these patterns sound.
    pub ways: Vec<PatternWay>,
    /// A tree of all ways by their moves, a node for each move; the first node is the root.
    nodes: Vec<Node>,
}

impl<'l> PatternStock<'l> {
    /// The stock of these patterns, those of fewer than [`FEWEST_NOTES`] notes left out.
    pub(super) fn of(patterns: impl IntoIterator<Item = &'l Pattern>) -> Self {
        let mut stock = Self { patterns: Vec::new(), ways: Vec::new(), nodes: vec![Node::default()] };
        for pattern in patterns.into_iter().filter(|pattern| pattern.notes().len() >= FEWEST_NOTES) {
            let place = stock.patterns.len();
            stock.patterns.push(pattern);
            let mut own: Vec<Vec<i32>> = Vec::new();
            for start in std::iter::once(None).chain(starts(pattern).into_iter().map(Some)) {
                let heights: Vec<i32> = from_degree(pattern, start).iter().map(|degree| degree.half_steps).collect();
                let moves: Vec<i32> = heights.windows(2).map(|w| w[1] - w[0]).collect();
                // One note over and over is not looked for, nor are moves that another way of the pattern has.
                if own.contains(&moves) || moves.iter().all(|by| *by == 0) {
                    continue;
                }
                own.push(moves.clone());
                stock.add(PatternWay { pattern: place, start, first: heights[0], moves });
            }
        }
        stock
    }

    fn add(&mut self, way: PatternWay) {
        let mut node = 0;
        for by in &way.moves {
            let there = self.nodes[node].next.iter().find(|(move_by, _)| move_by == by).map(|(_, next)| *next);
            node = there.unwrap_or_else(|| {
                let new = self.nodes.len();
                self.nodes.push(Node::default());
                self.nodes[node].next.push((*by, new));
                new
            });
        }
        self.nodes[node].ends.push(self.ways.len());
        self.ways.push(way);
    }

    fn next(&self, node: usize, by: i32) -> Option<usize> {
        self.nodes[node].next.iter().find(|(move_by, _)| *move_by == by).map(|(_, next)| *next)
    }

    /// Whether these moves are a whole pattern, in any of its ways.
    pub(super) fn is_pattern(&self, moves: &[i32]) -> bool {
        let end = moves.iter().try_fold(0, |node, by| self.next(node, *by));
        end.is_some_and(|node| !self.nodes[node].ends.is_empty())
    }

    /// All places in a line of moves at which a pattern stands, whole or with one note changed, in the order of their first notes.
    pub(super) fn hits(&self, moves: &[i32]) -> Vec<Hit> {
        let mut found = Vec::new();
        for at in 0..moves.len() {
            let mut node = 0;
            for n in 0..moves.len() - at {
                self.changed(moves, at, n, node, &mut found);
                let Some(next) = self.next(node, moves[at + n]) else { break };
                node = next;
                found.extend(self.nodes[node].ends.iter().map(|way| Hit { at, way: *way, changed: None }));
            }
        }
        // A changed form that is a pattern of its own is that pattern: dorian is no major scale with two notes gone wrong.
        found.retain(|hit: &Hit| {
            hit.changed.is_none() || !self.is_pattern(&moves[hit.at..hit.at + self.ways[hit.way].moves.len()])
        });
        found.sort_unstable();
        found
    }

    /// Adds to `found` the ways that go on from `node` with the note after move `n` changed. A changed note changes the moves before
    /// and after it, but not their sum.
    fn changed(&self, moves: &[i32], at: usize, n: usize, node: usize, found: &mut Vec<Hit>) {
        let Some([one, two]) = moves.get(at + n..at + n + 2) else { return };
        if *one == PARTED || *two == PARTED {
            return;
        }
        for (by, next) in self.nodes[node].next.iter().filter(|(by, _)| by != one && (by - one).abs() <= CHANGED_BY) {
            let changed = Some((n + 1, one - by));
            let Some(mut node) = self.next(*next, one + two - by) else { continue };
            for m in n + 2..=moves.len() - at {
                let whole = self.nodes[node].ends.iter().filter(|_| m >= CHANGEABLE);
                found.extend(whole.map(|way| Hit { at, way: *way, changed }));
                let Some(further) = moves.get(at + m).and_then(|by| self.next(node, *by)) else { break };
                node = further;
            }
        }
    }

    /// The moves of a way with one of its inner notes changed, once for every change that is looked for.
    pub(super) fn changes(moves: &[i32]) -> impl Iterator<Item = Vec<i32>> + '_ {
        let notes = if moves.len() >= CHANGEABLE { 1..moves.len() } else { 1..1 };
        notes.flat_map(move |note| {
            [-2, -1, 1, 2].into_iter().map(move |by| {
                let mut changed = moves.to_vec();
                changed[note - 1] += by;
                changed[note] -= by;
                changed
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::Library;

    /// The first note of each place found, and the degree on which the pattern is begun there.
    fn found(moves: &[i32]) -> Vec<(usize, Option<String>)> {
        let library = Library::builtin();
        let named = ["1-2-3-5-cell-major", "major-scale-up"];
        let stock = PatternStock::of(library.patterns().iter().filter(|one| named.contains(&one.id.0.as_str())));
        let placed = |hit: Hit| (hit.at, stock.ways[hit.way].start.map(|degree| degree.to_string()));
        stock.hits(moves).into_iter().map(placed).collect()
    }

    #[test]
    fn a_pattern_is_found_in_any_key_and_from_another_degree() {
        // 1 2 3 5, then the same from the second degree: 2 3 4 6, as in minor (common practice).
        let hits = found(&[2, 2, 3, -5, 2, 1, 4]);
        assert_eq!(hits, [(0, None), (4, Some("2".to_owned()))]);
    }

    #[test]
    fn a_rest_parts_and_a_short_pattern_is_not_known_changed() {
        assert_eq!(found(&[2, PARTED, 3]), []);
        assert_eq!(found(&[2, 1, 4, 5, 2, 2, 4]).len(), 1, "only the minor form");
    }
}
