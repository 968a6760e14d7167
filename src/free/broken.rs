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
    /// How often chance is expected to give these moves, from a note from which they are as rare.
    pub expected: f64,
}

/// The places at which a pattern began and broke off. Only a pattern that came whole, or is practised, is known to be the player's. Of one
/// that came whole, chance gives such a beginning in one line of [`ONE_IN`] at most; of those that are practised, whole or not, it gives a
/// beginning of any of them in as many. `own` are the places of the player's own cells.
pub(super) fn broken(
    search: &VocabularySearch,
    (heights, moves): (&[i32], &[i32]),
    named: &BTreeMap<usize, Count>,
    own: &[Range<usize>],
    practised: bool,
) -> Vec<Begun> {
    let came = |pattern: usize| named.get(&pattern).is_some_and(|count| !count.whole.is_empty());
    let looked: Vec<usize> = (0..search.stock.patterns.len()).filter(|one| practised || came(*one)).collect();
    let bound = ((ONE_IN * if practised { looked.len().max(1) } else { 1 }) as f64).ln();
    let mut taken: Vec<Range<usize>> = Vec::new();
    for count in named.values().filter(|count| !count.whole.is_empty()) {
        taken.extend(count.all().map(|hit| search.moves_of(hit)));
    }
    // What is known of the line would make its own pieces likely, so chance is taken from the rest of it.
    let mut rest = moves.to_vec();
    taken.iter().chain(own).for_each(|one| rest[one.clone()].fill(PARTED));
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
    let mut known = search.chain.of_moves(heights, &rest);
    // The longest first; one that overlaps with something reported already is taken for a piece of that.
    found.sort_by_cached_key(|(same, at, way)| (std::cmp::Reverse(*same), *at, *way));
    let mut places = Vec::new();
    // What is found leaves the rest, beside which more may stand out.
    loop {
        let before = places.len();
        for (same, at, way) in &found {
            let (here, way) = (*at..*at + *same, *way);
            // A shorter pattern that lies inside the beginning of a longer one is a piece of it.
            let piece = |one: &Range<usize>| here.start <= one.start && one.end <= here.end && one.len() < here.len();
            // What is only known is no beginning where the player's own cell stands.
            let in_own = || !practised && own.iter().any(|one| share(one, &here));
            if taken.iter().any(|one| share(one, &here) && !piece(one)) || in_own() {
                continue;
            }
            let begun = &search.stock.ways[way].moves[..*same];
            // The place itself is no part of the rest; where the rest is too short to tell, a plain line tells.
            let by_rest = known.without(heights, &rest, [here.clone()]).expected_as_rare(begun, heights[*at]);
            let expected = by_rest.max(plain_chance(begun) * moves.len() as f64);
            if surprise(1, expected) > bound {
                rest[here.clone()].fill(PARTED);
                known = search.chain.of_moves(heights, &rest);
                taken.push(here.clone());
                places.push(Begun { way, moves: here, expected });
            }
        }
        if places.len() == before {
            return places;
        }
    }
}
