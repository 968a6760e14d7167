use std::collections::BTreeMap;
use std::ops::Range;

use super::chance::{PARTED, surprise};
use super::plain::plain_chance;
use super::search::{Count, ONE_IN, VocabularySearch, share};

/// A pattern that broke off is reported where at least this many of its notes came, and at least half of its moves, rounded down.
const NOTES: usize = 5;

/// A place at which a pattern began and broke off.
pub(super) struct Begun {
    /// The way of the pattern, by index in [`PatternStock::ways`](super::stock::PatternStock::ways).
    pub way: usize,
    /// The moves of the line that are those of the way.
    pub moves: Range<usize>,
    /// How often chance is expected to give these moves.
    pub expected: f64,
}

/// The places at which a pattern began and broke off. Only a pattern that came whole, or is practised, is known to be the player's, so
/// only the number of these is corrected for: chance gives such a beginning, of any of them, in one line of [`ONE_IN`] at most.
pub(super) fn broken(
    search: &VocabularySearch,
    (heights, moves): (&[i32], &[i32]),
    named: &BTreeMap<usize, Count>,
    practised: bool,
) -> Vec<Begun> {
    let known = |pattern: &usize| practised || named.get(pattern).is_some_and(|count| !count.whole.is_empty());
    let looked: Vec<usize> = (0..search.stock.patterns.len()).filter(known).collect();
    let bound = ((ONE_IN * looked.len().max(1)) as f64).ln();
    let mut taken: Vec<Range<usize>> = Vec::new();
    for count in named.values().filter(|count| !count.whole.is_empty()) {
        taken.extend(count.whole.iter().chain(&count.changed).map(|hit| search.moves_of(hit)));
    }
    // The whole places of a pattern would make its own beginnings likely, so chance is taken from the rest of the line.
    let mut rest = moves.to_vec();
    taken.iter().for_each(|one| rest[one.clone()].fill(PARTED));
    let mut found: Vec<(usize, usize, usize)> = Vec::new();
    for (n, way) in search.stock.ways.iter().enumerate().filter(|(_, way)| looked.contains(&way.pattern)) {
        let least = (NOTES - 1).max(way.moves.len() / 2);
        for at in 0..moves.len() {
            let same = way.moves.iter().zip(&moves[at..]).take_while(|(one, other)| one == other).count();
            if same >= least && same < way.moves.len() {
                found.push((same, at, n));
            }
        }
    }
    // The longest first; one that overlaps with something reported already is taken for a piece of that.
    found.sort_by_cached_key(|(same, at, way)| (std::cmp::Reverse(*same), *at, *way));
    let mut places = Vec::new();
    for (same, at, way) in found {
        let here = at..at + same;
        if taken.iter().any(|one| share(one, &here)) {
            continue;
        }
        let begun = &search.stock.ways[way].moves[..same];
        // The place itself is no part of the rest; where the rest is too short to tell, a plain line tells.
        let mut rest = rest.clone();
        rest[here.clone()].fill(PARTED);
        let by_rest = search.chain.of_moves(heights, &rest).expected(begun);
        let expected = by_rest.max(plain_chance(begun) * moves.len() as f64);
        if surprise(1, expected) <= bound {
            continue;
        }
        taken.push(here.clone());
        places.push(Begun { way, moves: here, expected });
    }
    places
}
