use std::collections::BTreeMap;
use std::ops::Range;

use super::chance::{ScaleChain, surprise};
use super::stock::{Hit, PatternStock};

/// Of the lines drawn by chance, at most one in this many names any pattern, and at most one in this many any habit.
pub(super) const ONE_IN: usize = 20;

/// The places of one pattern in a line.
pub(super) struct Count {
    /// Where the pattern came whole.
    pub whole: Vec<Hit>,
    /// Where it came with a note changed.
    pub changed: Vec<Hit>,
    /// How far the count that lies further beyond chance lies beyond it ([`surprise`]).
    pub surprise: f64,
}

impl Count {
    /// All places.
    pub(super) fn all(&self) -> impl Iterator<Item = &Hit> {
        self.whole.iter().chain(&self.changed)
    }
}

/// The expected counts that were worked out already, by way, and by whether a note is changed.
type Chances = BTreeMap<(usize, bool), f64>;

/// The search for patterns in a line and in lines drawn by chance.
pub(super) struct VocabularySearch<'l> {
    /// What is looked for.
    pub stock: PatternStock<'l>,
    /// The motion of the line.
    pub chain: ScaleChain,
    known: Chances,
}

impl<'l> VocabularySearch<'l> {
    /// A search for these patterns in a line of this motion.
    pub(super) const fn of(stock: PatternStock<'l>, chain: ScaleChain) -> Self {
        Self { stock, chain, known: Chances::new() }
    }

    fn expected(&mut self, way: usize, changed: bool) -> f64 {
        if let Some(known) = self.known.get(&(way, changed)) {
            return *known;
        }
        let moves = &self.stock.ways[way].moves;
        let chain = &self.chain;
        let found = if changed {
            PatternStock::changes(moves).map(|moves| chain.expected(&moves)).sum()
        } else {
            chain.expected(moves)
        };
        self.known.insert((way, changed), found);
        found
    }

    /// How often chance is expected to give a pattern, all its ways together.
    pub(super) fn expected_in_all(&mut self, pattern: usize, changed: bool) -> f64 {
        let ways: Vec<usize> =
            (0..self.stock.ways.len()).filter(|way| self.stock.ways[*way].pattern == pattern).collect();
        ways.into_iter().map(|way| self.expected(way, changed)).sum()
    }

    /// Those hits of one pattern, from the first on, that share no move.
    fn apart(&self, hits: Vec<Hit>) -> Vec<Hit> {
        let mut kept: Vec<Hit> = Vec::new();
        for hit in hits {
            let free = |last: &Hit| last.at + self.stock.ways[last.way].moves.len() <= hit.at;
            if kept.last().is_none_or(free) {
                kept.push(hit);
            }
        }
        kept
    }

    /// The places of one pattern among its hits, those apart that share moves.
    pub(super) fn counted(&mut self, pattern: usize, hits: Vec<Hit>) -> Count {
        let (changed, whole): (Vec<Hit>, Vec<Hit>) = hits.into_iter().partition(|hit| hit.changed.is_some());
        let (whole, changed) = (self.apart(whole), self.apart(changed));
        let mut most = 0.0f64;
        for (hits, changed) in [(&whole, false), (&changed, true)] {
            if !hits.is_empty() {
                most = most.max(surprise(hits.len(), self.expected_in_all(pattern, changed)));
            }
        }
        Count { whole, changed, surprise: most }
    }

    /// The places of each pattern in a line of moves, by the pattern's index in the stock.
    fn counts(&mut self, moves: &[i32]) -> BTreeMap<usize, Count> {
        let mut by_pattern: BTreeMap<usize, Vec<Hit>> = BTreeMap::new();
        for hit in self.stock.hits(moves) {
            by_pattern.entry(self.stock.ways[hit.way].pattern).or_default().push(hit);
        }
        by_pattern.into_iter().map(|(pattern, hits)| (pattern, self.counted(pattern, hits))).collect()
    }

    /// How surprising the most surprising pattern of a line is.
    pub(super) fn most(&mut self, moves: &[i32]) -> f64 {
        self.counts(moves).values().map(|count| count.surprise).fold(0.0, f64::max)
    }

    /// The moves of a hit.
    pub(super) fn moves_of(&self, hit: &Hit) -> Range<usize> {
        hit.at..hit.at + self.stock.ways[hit.way].moves.len()
    }
}

/// The number of moves that two stretches have in common.
fn in_common(one: &Range<usize>, other: &Range<usize>) -> usize {
    one.end.min(other.end).saturating_sub(one.start.max(other.start))
}

/// Whether two stretches have a move in common.
pub(super) fn share(one: &Range<usize>, other: &Range<usize>) -> bool {
    in_common(one, other) > 0
}

/// The patterns that are more surprising than `bound`, by index in the stock, each with those hits that are no part of another pattern's:
/// those first that came whole often enough to be named for it, then the longest. Of patterns that sound the same, the one that is
/// written so is kept, and of several such the one of the lowest level.
pub(super) fn named(search: &mut VocabularySearch, moves: &[i32], bound: f64) -> BTreeMap<usize, Count> {
    let beyond: Vec<(usize, Count)> =
        search.counts(moves).into_iter().filter(|(_, count)| count.surprise > bound).collect();
    let mut order: Vec<(_, usize, Count)> = Vec::new();
    for (pattern, count) in beyond {
        let longest = count.all().map(|hit| search.moves_of(hit).len()).max().unwrap_or(0);
        let level = search.stock.patterns[pattern].level;
        let own_ways = count.whole.iter().filter(|hit| search.stock.ways[hit.way].start.is_none()).count();
        let known_whole =
            !count.whole.is_empty() && surprise(count.whole.len(), search.expected_in_all(pattern, false)) > bound;
        let first = (known_whole, longest, count.whole.len(), own_ways, std::cmp::Reverse(level));
        order.push((first, pattern, count));
    }
    order.sort_by(|a, b| (b.0, a.1).cmp(&(a.0, b.1)));
    let mut kept: BTreeMap<usize, Count> = BTreeMap::new();
    // The places of what is kept, and whether the pattern came whole there.
    let mut taken: Vec<(Range<usize>, bool)> = Vec::new();
    for (_, pattern, count) in order {
        // A place is a piece of another one where more than half of its moves lie in that one. A changed form has no move of a whole one.
        let free = |hit: &Hit, taken: &[(Range<usize>, bool)]| {
            let here = search.moves_of(hit);
            taken.iter().all(|(one, whole)| match in_common(one, &here) {
                0 => true,
                common => 2 * common <= here.len() && !(*whole && hit.changed.is_some()),
            })
        };
        let left: Vec<Hit> = count.whole.into_iter().chain(count.changed).filter(|hit| free(hit, &taken)).collect();
        let (changed, whole): (Vec<Hit>, Vec<Hit>) = left.into_iter().partition(|hit| hit.changed.is_some());
        let own: Vec<(Range<usize>, bool)> = whole.iter().map(|hit| (search.moves_of(hit), true)).collect();
        let changed = changed.into_iter().filter(|hit| free(hit, &own));
        let mut left: Vec<Hit> = whole.iter().copied().chain(changed).collect();
        left.sort_unstable();
        let count = search.counted(pattern, left);
        if count.surprise <= bound {
            continue;
        }
        taken.extend(count.all().map(|hit| (search.moves_of(hit), hit.changed.is_none())));
        kept.insert(pattern, count);
    }
    kept
}
