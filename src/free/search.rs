use std::collections::BTreeMap;
use std::ops::Range;

use super::chance::{PARTED, ScaleChain, surprise};
use super::plain::plain_chance;
use super::stock::{Hit, PatternStock};

/// Of the lines drawn by chance, at most one in this many names any pattern, and at most one in this many any habit.
pub(super) const ONE_IN: usize = 20;
/// How many patterns of each drawn line are weighed against the rest of that line.
const LIKELY: usize = 4;
/// A pattern of which every way has at least this many moves is weighed against the rest of the line. Shorter ones are the motion of a line:
/// without its runs of four notes a line of steps would have none.
const LONG: usize = 6;

/// The places of one pattern in a line.
pub(super) struct Count {
    /// Where the pattern came whole.
    pub whole: Vec<Hit>,
    /// Where it came with a note changed.
    pub changed: Vec<Hit>,
    /// How often chance is expected to give it.
    chances: Chances,
    /// How far each of the three counts lies beyond chance ([`surprise`]).
    beyond: [f64; 3],
    /// Whether only those places count at which it begins as it is written.
    as_written: bool,
}

/// How often chance is expected to give a pattern: as it is written, whole in any of its ways, and with a note changed.
pub(super) type Chances = [f64; 3];

impl Count {
    /// All places.
    pub(super) fn all(&self) -> impl Iterator<Item = &Hit> {
        self.whole.iter().chain(&self.changed)
    }

    /// How far the count that lies furthest beyond chance lies beyond it.
    pub(super) fn surprise(&self) -> f64 {
        self.beyond.iter().copied().fold(0.0, f64::max)
    }

    /// Whether the pattern came whole so often that it is named for that.
    pub(super) fn known_whole(&self, bound: f64) -> bool {
        self.beyond[0].max(self.beyond[1]) > bound
    }

    /// How often chance is expected to give those places.
    pub(super) fn expected(&self) -> f64 {
        self.chances[usize::from(!self.as_written)] + self.chances[2]
    }
}

/// The search for patterns in a line and in lines drawn by chance.
pub(super) struct VocabularySearch<'l> {
    /// What is looked for.
    pub stock: PatternStock<'l>,
    /// The motion of the line.
    pub chain: ScaleChain,
    /// The ways of each pattern.
    ways: Vec<Vec<usize>>,
    known: BTreeMap<usize, Chances>,
}

impl<'l> VocabularySearch<'l> {
    /// A search for these patterns in a line of this motion.
    pub(super) fn of(stock: PatternStock<'l>, chain: ScaleChain) -> Self {
        let mut ways = vec![Vec::new(); stock.patterns.len()];
        stock.ways.iter().enumerate().for_each(|(n, way)| ways[way.pattern].push(n));
        Self { stock, chain, ways, known: BTreeMap::new() }
    }

    /// The same search in a line of another motion.
    pub(super) fn in_motion_of(self, chain: ScaleChain) -> Self {
        Self { chain, known: BTreeMap::new(), ..self }
    }

    /// How often a chain is expected to give a pattern; nothing is rarer than in a plain line of so many moves.
    fn chances(&self, pattern: usize, chain: &ScaleChain, moves: usize) -> Chances {
        let expected = |moves_of: &[i32]| chain.expected(moves_of).max(plain_chance(moves_of) * moves as f64);
        let mut sums = [0.0; 3];
        for way in self.ways[pattern].iter().map(|way| &self.stock.ways[*way]) {
            let whole = expected(&way.moves);
            sums[0] += if way.start.is_none() { whole } else { 0.0 };
            sums[1] += whole;
            sums[2] += PatternStock::changes(&way.moves).map(|moves_of| expected(&moves_of)).sum::<f64>();
        }
        sums
    }

    /// How often the motion of the line is expected to give a pattern, whole or with a note changed, in so many moves.
    pub(super) fn expected(&self, pattern: usize, moves: usize) -> f64 {
        let [_, whole, changed] = self.chances(pattern, &self.chain, moves);
        whole + changed
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
    fn counted(&self, hits: Vec<Hit>, chances: Chances) -> Count {
        let (changed, whole): (Vec<Hit>, Vec<Hit>) = hits.into_iter().partition(|hit| hit.changed.is_some());
        let (whole, changed) = (self.apart(whole), self.apart(changed));
        let written = whole.iter().filter(|hit| self.stock.ways[hit.way].start.is_none()).count();
        let counts = [written, whole.len(), changed.len()];
        let beyond = [0, 1, 2].map(|n| surprise(counts[n], chances[n]));
        Count { whole, changed, chances, beyond, as_written: false }
    }

    /// What is left of a count with those places that are free.
    pub(super) fn left_of(&self, count: Count, free: impl Fn(&Hit) -> bool) -> Count {
        let mut left: Vec<Hit> = count.whole.into_iter().chain(count.changed).filter(free).collect();
        left.sort_unstable();
        Count { as_written: count.as_written, ..self.counted(left, count.chances) }
    }

    /// The hits of each pattern in a line of moves, by the pattern's index in the stock.
    fn hits(&self, moves: &[i32]) -> BTreeMap<usize, Vec<Hit>> {
        let mut by_pattern: BTreeMap<usize, Vec<Hit>> = BTreeMap::new();
        for hit in self.stock.hits(moves) {
            by_pattern.entry(self.stock.ways[hit.way].pattern).or_default().push(hit);
        }
        by_pattern
    }

    /// Whether a pattern is weighed against the rest of the line, so whatever the motion of the whole line is.
    fn long(&self, pattern: usize) -> bool {
        self.ways[pattern].iter().all(|way| self.stock.ways[*way].moves.len() >= LONG)
    }

    /// The places of one pattern, weighed against the rest of the line; `whole` is the chain of all of it.
    fn weighed(&self, pattern: usize, hits: Vec<Hit>, (heights, moves): (&[i32], &[i32]), whole: &ScaleChain) -> Count {
        if !self.long(pattern) {
            return self.counted(hits, self.chances(pattern, &self.chain, moves.len()));
        }
        let rest = whole.without(heights, moves, hits.iter().map(|hit| self.moves_of(hit)));
        let chances = self.chances(pattern, &rest, moves.len());
        self.counted(hits, chances)
    }

    /// The places of each pattern in a line, by the pattern's index in the stock, each weighed against the rest of the line.
    pub(super) fn counts(&self, heights: &[i32], moves: &[i32]) -> BTreeMap<usize, Count> {
        let whole = self.chain.of_moves(heights, moves);
        let weighed = |(pattern, hits)| (pattern, self.weighed(pattern, hits, (heights, moves), &whole));
        self.hits(moves).into_iter().map(weighed).collect()
    }

    /// The same places beside the motion of this search, where a search in another motion counted them.
    pub(super) fn counted_anew(&self, counts: BTreeMap<usize, Count>, moves: usize) -> BTreeMap<usize, Count> {
        let anew = |(pattern, count): (usize, Count)| {
            // Those of long patterns do not depend on that motion.
            if self.long(pattern) {
                return (pattern, count);
            }
            let hits = count.whole.into_iter().chain(count.changed).collect();
            (pattern, self.counted(hits, self.chances(pattern, &self.chain, moves)))
        };
        counts.into_iter().map(anew).collect()
    }

    /// How surprising the most surprising pattern of a drawn line is.
    pub(super) fn most(&mut self, first: i32, moves: &[i32]) -> f64 {
        let mut likely: Vec<(f64, usize, Vec<Hit>)> = Vec::new();
        for (pattern, hits) in self.hits(moves) {
            let chances = match self.known.get(&pattern) {
                Some(known) => *known,
                None => {
                    let chances = self.chances(pattern, &self.chain, moves.len());
                    self.known.insert(pattern, chances);
                    chances
                }
            };
            likely.push((self.counted(hits.clone(), chances).surprise(), pattern, hits));
        }
        // Only those that stand out beside the motion that was drawn from can stand out beside the rest of the line.
        likely.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut heights = vec![first];
        moves.iter().for_each(|by| heights.push(heights[heights.len() - 1] + if *by == PARTED { 0 } else { *by }));
        let whole = self.chain.of_moves(&heights, moves);
        let likely = likely.into_iter().take(LIKELY);
        let weighed = likely.map(|(_, pattern, hits)| self.weighed(pattern, hits, (&heights, moves), &whole));
        weighed.map(|count| count.surprise()).fold(0.0, f64::max)
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

/// Those of the counted patterns that are more surprising than `bound`, by index in the stock. Each keeps those hits that are no part of
/// another pattern's: those first that came whole often enough to be named for it, then the longest. Of patterns that sound the same, the
/// one that is written so is kept, and of several such the one of the lowest level.
pub(super) fn named(search: &VocabularySearch, counts: BTreeMap<usize, Count>, bound: f64) -> BTreeMap<usize, Count> {
    let mut order: Vec<(_, usize, Count)> = Vec::new();
    for (pattern, mut count) in counts {
        let written = |hit: &Hit| search.stock.ways[hit.way].start.is_none();
        if count.beyond[0] > bound && count.beyond[1] <= bound {
            // A scale in three keys from its root to its octave is one, though any line has runs of eight steps.
            count = search.left_of(Count { as_written: true, ..count }, written);
        }
        if count.surprise() <= bound {
            continue;
        }
        let longest = count.all().map(|hit| search.moves_of(hit).len()).max().unwrap_or(0);
        let level = search.stock.patterns[pattern].level;
        let own_ways = count.whole.iter().filter(|hit| written(hit)).count();
        let first = (count.known_whole(bound), longest, count.whole.len(), own_ways, std::cmp::Reverse(level));
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
        let whole = count.whole.iter().filter(|hit| free(hit, &taken));
        let own: Vec<(Range<usize>, bool)> = whole.map(|hit| (search.moves_of(hit), true)).collect();
        let count = search.left_of(count, |hit| free(hit, &taken) && (hit.changed.is_none() || free(hit, &own)));
        if count.surprise() <= bound {
            continue;
        }
        taken.extend(count.all().map(|hit| (search.moves_of(hit), hit.changed.is_none())));
        kept.insert(pattern, count);
    }
    kept
}
