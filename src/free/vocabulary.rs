use std::collections::BTreeMap;
use std::ops::Range;

use super::chance::{PARTED, ScaleChain, surprise};
use super::habits::{RepeatedCell, cells, habits};
use super::line::FreeLine;
use super::stock::{Hit, PatternStock};
use crate::music::{ConcertKey, Degree, PitchClass};
use crate::pattern::{Between, Library, Pattern};
use crate::units::rank;

/// Of the lines drawn by chance, at most one in this many names any pattern, and at most one in this many any habit.
pub(super) const ONE_IN: usize = 20;
/// The number of moves to draw in all, so that fewer lines are drawn where the line is long.
const DRAWN_NOTES: usize = 60_000;
/// The least and the largest number of lines that are drawn.
const DRAWN: (usize, usize) = (19, 199);
/// A pattern that broke off is reported where at least this many of its notes came, and at least half of its moves, rounded down.
const BROKEN_NOTES: usize = 5;

/// What is looked for.
#[derive(Debug, Clone, Copy)]
pub struct LookedFor<'l> {
    /// The patterns that may be named.
    pub patterns: &'l [&'l Pattern],
    /// Whether the player named these patterns as those that are practised. One of them that broke off is reported even where it
    /// never came whole, and one that lies inside a habit is named all the same.
    pub practised: bool,
}

/// One place where a pattern came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundPlace {
    /// The notes of the place, by index in the line.
    pub notes: Range<usize>,
    /// The key in which the pattern came.
    pub key: ConcertKey,
    /// The degree on which the pattern began; `None` for the degree on which it is written.
    pub from: Option<Degree>,
    /// The note that was changed, from 0 at the first of the pattern, and by how many half steps; `None` where none was.
    pub changed: Option<(usize, i32)>,
    /// Whether the pattern broke off before its last note.
    pub broken: bool,
}

/// A pattern that came more often than chance gives.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundPattern<'l> {
    /// The pattern that was found.
    pub pattern: &'l Pattern,
    /// Where the pattern came, in order.
    pub places: Vec<FoundPlace>,
    /// How often chance is expected to give the pattern, whole or with a note changed; for one that only broke off, the notes that
    /// came of it.
    pub expected: f64,
}

/// A cell of the player's own that came again and again.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// The notes of each time the cell came, by index in the line.
    pub places: Vec<Range<usize>>,
    /// How often chance is expected to give the cell in this line.
    pub expected: f64,
}

/// The patterns that came in a free line, and the habits: cells that came again and again and are in no library.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FreeVocabulary<'l> {
    /// The patterns, the most surprising first.
    pub patterns: Vec<FoundPattern<'l>>,
    /// The habits, the most surprising first.
    pub habits: Vec<Habit>,
    /// How many patterns were looked for.
    pub looked_for: usize,
}

/// The places of one pattern in a line, whole and with a note changed, and how surprising the more surprising of these two counts
/// is ([`surprise`]).
struct Count {
    whole: Vec<Hit>,
    changed: Vec<Hit>,
    surprise: f64,
}

/// The expected counts that were worked out already, by way, and by whether a note is changed.
type Chances = BTreeMap<(usize, bool), f64>;

struct VocabularySearch<'l> {
    stock: PatternStock<'l>,
    chain: ScaleChain,
    known: Chances,
}

impl VocabularySearch<'_> {
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
    fn expected_in_all(&mut self, pattern: usize, changed: bool) -> f64 {
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

    fn counted(&mut self, pattern: usize, hits: Vec<Hit>) -> Count {
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

    /// How surprising the most surprising pattern of a line is, and how surprising the most surprising cell of the line is.
    fn most(&mut self, moves: &[i32]) -> (f64, f64) {
        let patterns = self.counts(moves).values().map(|count| count.surprise).fold(0.0, f64::max);
        let cell = cells(moves, &self.chain, &self.stock).first().map_or(0.0, |cell| cell.surprise);
        (patterns, cell)
    }

    fn moves_of(&self, hit: &Hit) -> Range<usize> {
        hit.at..hit.at + self.stock.ways[hit.way].moves.len()
    }
}

/// The moves of a line in half steps, with [`PARTED`] for each move over a long rest.
pub(super) fn moves_of(line: &FreeLine) -> Vec<i32> {
    let heights = line.heights();
    let pairs = heights.windows(2).zip(line.between());
    pairs.map(|(pair, between)| if between == Between::Parting { PARTED } else { pair[1] - pair[0] }).collect()
}

/// The value that at most one in [`ONE_IN`] of the drawn lines exceeds.
fn bound(mut drawn: Vec<f64>) -> f64 {
    drawn.sort_by_cached_key(|one| rank(-one));
    let over = ((drawn.len() + 1) / ONE_IN).saturating_sub(1);
    drawn.get(over).copied().unwrap_or(f64::INFINITY)
}

impl<'l> FreeVocabulary<'l> {
    /// Looks for patterns and habits in a line. `chance` draws from 0 to 1.
    #[must_use]
    pub fn of(line: &FreeLine, wanted: LookedFor<'l>, library: &Library, chance: &mut dyn FnMut() -> f64) -> Self {
        let (heights, moves) = (line.heights(), moves_of(line));
        let chain = ScaleChain::of(&heights, &moves, line.scale());
        let stock = PatternStock::of(wanted.patterns.iter().copied());
        let looked_for = stock.patterns.len();
        let mut search = VocabularySearch { stock, chain, known: Chances::new() };
        let draws = (DRAWN_NOTES / moves.len().max(1)).clamp(DRAWN.0, DRAWN.1) / ONE_IN * ONE_IN + ONE_IN - 1;
        let drawn: Vec<(f64, f64)> = (0..draws.min(DRAWN.1))
            .map(|_| {
                let drawn = search.chain.drawn(&heights, &moves, chance);
                search.most(&drawn)
            })
            .collect();
        let bounds = (bound(drawn.iter().map(|one| one.0).collect()), bound(drawn.iter().map(|one| one.1).collect()));
        // A cell that is a pattern of the library is not a habit, even where that pattern was not looked for.
        let all = PatternStock::of(library.patterns().iter().chain(wanted.patterns.iter().copied()));
        let repeated = cells(&moves, &search.chain, &all);
        let mut kept = named(&mut search, &moves, bounds.0);
        kept.retain(|_, count| wanted.practised || !inside_a_habit(&search, count, &repeated, bounds.1));
        let mut patterns: Vec<(f64, FoundPattern<'l>)> = Vec::new();
        let mut taken: Vec<Range<usize>> =
            kept.values().flat_map(|count| &count.whole).map(|h| search.moves_of(h)).collect();
        taken.extend(kept.values().flat_map(|count| &count.changed).map(|hit| search.moves_of(hit)));
        for (pattern, count) in kept {
            let expected = search.expected_in_all(pattern, false) + search.expected_in_all(pattern, true);
            let places =
                count.whole.iter().chain(&count.changed).map(|hit| place(&search.stock, hit, &heights)).collect();
            patterns.push((count.surprise, FoundPattern { pattern: search.stock.patterns[pattern], places, expected }));
        }
        broken(&mut search, &moves, &heights, &mut patterns, &mut taken, wanted.practised);
        patterns.sort_by_cached_key(|one| rank(-one.0));
        let own = habits(repeated, bounds.1, &taken);
        let mut patterns: Vec<FoundPattern> = patterns.into_iter().map(|(_, found)| found).collect();
        patterns.iter_mut().for_each(|found| found.places.sort_by_cached_key(|place| place.notes.start));
        Self { patterns, habits: own.into_iter().map(habit).collect(), looked_for }
    }
}

fn habit(cell: RepeatedCell) -> Habit {
    let notes = cell.moves.len() + 1;
    Habit { places: cell.at.into_iter().map(|at| at..at + notes).collect(), expected: cell.expected }
}

fn place(stock: &PatternStock, hit: &Hit, heights: &[i32]) -> FoundPlace {
    let way = &stock.ways[hit.way];
    let key = ConcertKey(PitchClass::new(heights[hit.at] - way.first));
    FoundPlace {
        notes: hit.at..hit.at + way.moves.len() + 1,
        key,
        from: way.start,
        changed: hit.changed,
        broken: false,
    }
}

/// Whether every place of a pattern lies inside a more surprising cell of the player's own, of which the pattern fills at most two
/// thirds: then the cell is the habit, and the pattern is not named.
fn inside_a_habit(search: &VocabularySearch, count: &Count, repeated: &[RepeatedCell], bound: f64) -> bool {
    let all_moves = || count.whole.iter().chain(&count.changed).map(|hit| search.moves_of(hit));
    let holds = |cell: &RepeatedCell, moves: &Range<usize>| {
        let places = || cell.at.iter().map(|at| *at..at + cell.moves.len());
        3 * moves.len() <= 2 * cell.moves.len() && places().any(|one| one.start <= moves.start && moves.end <= one.end)
    };
    let mut beyond = repeated.iter().take_while(|cell| cell.surprise > bound.max(count.surprise));
    beyond.any(|cell| all_moves().all(|moves| holds(cell, &moves)))
}

/// The patterns that are more surprising than `bound`, by index in the stock, each with those hits that do not lie inside a longer
/// pattern's. Of patterns that sound the same, the one that is written so is kept, and of several such the one of the lowest level.
fn named(search: &mut VocabularySearch, moves: &[i32], bound: f64) -> BTreeMap<usize, Count> {
    let beyond: Vec<(usize, Count)> =
        search.counts(moves).into_iter().filter(|(_, count)| count.surprise > bound).collect();
    let own_ways = |search: &VocabularySearch, count: &Count| {
        count.whole.iter().filter(|hit| search.stock.ways[hit.way].start.is_none()).count()
    };
    let mut order: Vec<(usize, usize, usize, u8, usize, Count)> = Vec::new();
    for (pattern, count) in beyond {
        let longest = count.whole.iter().chain(&count.changed).map(|hit| search.moves_of(hit).len()).max().unwrap_or(0);
        let level = search.stock.patterns[pattern].level;
        order.push((longest, count.whole.len(), own_ways(search, &count), level, pattern, count));
    }
    order.sort_by(|a, b| (b.0, b.1, b.2, a.3, a.4).cmp(&(a.0, a.1, a.2, b.3, b.4)));
    let mut kept: BTreeMap<usize, Count> = BTreeMap::new();
    let mut taken: Vec<Range<usize>> = Vec::new();
    for (.., pattern, count) in order {
        let inside = |hit: &Hit, search: &VocabularySearch| {
            let here = search.moves_of(hit);
            taken.iter().any(|one| one.start <= here.start && here.end <= one.end)
        };
        let mut left: Vec<Hit> =
            count.whole.into_iter().chain(count.changed).filter(|hit| !inside(hit, search)).collect();
        left.sort_unstable();
        let mut count = search.counted(pattern, left);
        if count.surprise <= bound {
            continue;
        }
        // A changed form of the pattern is reported only where it does not overlap with a whole one.
        let whole: Vec<Range<usize>> = count.whole.iter().map(|hit| search.moves_of(hit)).collect();
        let apart = |hit: &Hit, search: &VocabularySearch| {
            let here = search.moves_of(hit);
            whole.iter().all(|one| one.end <= here.start || here.end <= one.start)
        };
        count.changed.retain(|hit| apart(hit, search));
        taken.extend(count.whole.iter().chain(&count.changed).map(|hit| search.moves_of(hit)));
        kept.insert(pattern, count);
    }
    kept
}

/// Adds the places at which a pattern that is named or practised began and broke off, where they overlap with nothing that is reported, and
/// where chance gives such a beginning, of any of these patterns, in one line of [`ONE_IN`] at most.
fn broken<'l>(
    search: &mut VocabularySearch<'l>,
    moves: &[i32],
    heights: &[i32],
    patterns: &mut Vec<(f64, FoundPattern<'l>)>,
    taken: &mut Vec<Range<usize>>,
    practised: bool,
) {
    let named: Vec<&Pattern> = patterns.iter().map(|(_, found)| found.pattern).collect();
    let looked: Vec<usize> = (0..search.stock.patterns.len())
        .filter(|place| practised || named.iter().any(|one| std::ptr::eq(*one, search.stock.patterns[*place])))
        .collect();
    let bound = ((ONE_IN * looked.len().max(1)) as f64).ln();
    for pattern in looked {
        let ways: Vec<usize> =
            (0..search.stock.ways.len()).filter(|way| search.stock.ways[*way].pattern == pattern).collect();
        let mut found: Vec<(usize, usize, usize)> = Vec::new();
        for way in ways {
            let whole = search.stock.ways[way].moves.clone();
            let least = (BROKEN_NOTES - 1).max(whole.len() / 2);
            for at in 0..moves.len() {
                let same = whole.iter().zip(&moves[at..]).take_while(|(one, other)| one == other).count();
                if same >= least && same < whole.len() {
                    found.push((same, at, way));
                }
            }
        }
        // The longest first; one that overlaps with something reported already is taken for a piece of that.
        found.sort_by_cached_key(|(same, at, _)| (-(*same as i64), *at as i64));
        for (same, at, way) in found {
            let free = taken.iter().all(|one| one.end <= at || at + same <= one.start);
            let begun = search.stock.ways[way].moves[..same].to_vec();
            let expected = search.chain.expected(&begun);
            let surprising = surprise(1, expected);
            if !free || surprising <= bound {
                continue;
            }
            taken.push(at..at + same);
            let way = &search.stock.ways[way];
            let key = ConcertKey(PitchClass::new(heights[at] - way.first));
            let place = FoundPlace { notes: at..at + same + 1, key, from: way.start, changed: None, broken: true };
            let pattern = search.stock.patterns[pattern];
            match patterns.iter_mut().find(|(_, there)| std::ptr::eq(there.pattern, pattern)) {
                Some((_, there)) => there.places.push(place),
                None => patterns.push((surprising, FoundPattern { pattern, places: vec![place], expected })),
            }
        }
    }
}
