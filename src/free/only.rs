use super::search::VocabularySearch;
use super::stock::Hit;

/// A pattern is all of a line where at least nine of ten notes are notes of its places.
const NEARLY_ALL: (usize, usize) = (9, 10);

/// The pattern that is all of a line of these moves, or nearly all of it, once or again and again, with its places; `None` where no pattern
/// is. One that came whole goes before one with a note changed; of several the one that is more of the
/// line is taken, then the longest, then the one that is written so, then the
/// one of the lowest level.
pub(super) fn only_pattern(search: &VocabularySearch, moves: &[i32]) -> Option<Vec<Hit>> {
    let mut hits = search.stock.hits(moves);
    let way = |hit: &Hit| &search.stock.ways[hit.way];
    hits.sort_by_key(|hit| (way(hit).pattern, hit.at, hit.changed.is_some(), way(hit).start.is_some(), hit.way));
    let places = |hits: &[Hit], changed: bool| {
        let (mut next, mut covered, mut kept) = (0, 0, Vec::new());
        for hit in hits.iter().filter(|hit| changed || hit.changed.is_none()) {
            if hit.at < next {
                continue;
            }
            // The last note of one place may be the first of the next, as in a scale that is played twice without a stop.
            let end = search.moves_of(hit).end;
            let shared = usize::from(next == hit.at && !kept.is_empty());
            (next, covered) = (end, covered + end + 1 - hit.at - shared);
            kept.push(*hit);
        }
        (NEARLY_ALL.1 * covered >= NEARLY_ALL.0 * (moves.len() + 1)).then_some((covered, kept))
    };
    let of_one = |hits: &[Hit]| places(hits, false).or_else(|| places(hits, true));
    let all = hits.chunk_by(|one, other| way(one).pattern == way(other).pattern).filter_map(of_one);
    let best = all.min_by_key(|(covered, kept)| {
        let changed = kept.iter().filter(|hit| hit.changed.is_some()).count();
        let moved = kept.iter().filter(|hit| way(hit).start.is_some()).count();
        let level = kept.first().map(|hit| search.stock.patterns[way(hit).pattern].level);
        (changed, std::cmp::Reverse(*covered), kept.len(), moved, level)
    });
    best.map(|(_, kept)| kept)
}
