use std::collections::BTreeMap;
use std::ops::Range;

use super::broken::{Begun, broken};
use super::chance::{PARTED, ScaleChain, surprise};
use super::habits::{RepeatedCell, cells, habits};
use super::line::FreeLine;
use super::only::only_pattern;
use super::search::{Count, ONE_IN, VocabularySearch, named, share};
use super::stock::{Hit, PatternStock};
use crate::music::{ConcertKey, Degree, PitchClass};
use crate::pattern::{Between, Library, Pattern};
use crate::units::rank;

/// The number of moves to draw in all, so that fewer lines are drawn where the line is long.
const DRAWN_NOTES: usize = 60_000;
/// The least and the largest number of lines that are drawn.
const DRAWN: (usize, usize) = (19, 199);

/// So few patterns are told with their places even where they came no more often than chance gives.
pub const FEW: usize = 3;

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
    /// The pattern that is all of the line, or nearly all: nothing is left beside which it would stand out, so that nobody can tell whether
    /// it is a habit. `patterns` is empty then.
    pub only: Option<FoundPattern<'l>>,
    /// What came no more often than chance gives, with all its places, where nothing stands out: of few patterns that were looked for each,
    /// also one that did not come; of many at most so many that came twice or more and come nearest to standing out.
    pub by_chance: Vec<FoundPattern<'l>>,
    /// The habits, the most surprising first.
    pub habits: Vec<Habit>,
    /// How many patterns were looked for.
    pub looked_for: usize,
}

/// The moves of a line in half steps, with [`PARTED`] for each move over a long rest.
pub(super) fn moves_of(line: &FreeLine) -> Vec<i32> {
    let heights = line.heights();
    let pairs = heights.windows(2).zip(line.between());
    pairs.map(|(pair, between)| if between == Between::Parting { PARTED } else { pair[1] - pair[0] }).collect()
}

/// How many lines are drawn beside a line of these moves.
fn draws(moves: &[i32]) -> usize {
    let draws = (DRAWN_NOTES / moves.len().max(1)).clamp(DRAWN.0, DRAWN.1) / ONE_IN * ONE_IN + ONE_IN - 1;
    draws.min(DRAWN.1)
}

/// The value that at most the share `part` of `of` drawn lines exceeds.
fn bound(mut drawn: Vec<f64>, (part, of): (usize, usize)) -> f64 {
    drawn.sort_by_cached_key(|one| rank(-one));
    let over = (part * (drawn.len() + 1) / of).saturating_sub(1);
    drawn.get(over).copied().unwrap_or(f64::INFINITY)
}

/// The search in the motion of a line without the patterns that stand out by far: they would be drawn as often as they were played. With
/// the places of each pattern, weighed in that search.
fn without_far<'l>(
    search: VocabularySearch<'l>,
    heights: &[i32],
    moves: &[i32],
) -> (VocabularySearch<'l>, BTreeMap<usize, Count>) {
    let far = ((ONE_IN * search.stock.patterns.len().max(1)) as f64).ln();
    let mut rest = moves.to_vec();
    let counts = search.counts(heights, moves);
    let out = counts.values().filter(|count| count.surprise() > far).flat_map(Count::all);
    out.for_each(|hit| rest[search.moves_of(hit)].fill(PARTED));
    let chain = search.chain.of_moves(heights, &rest);
    let search = search.in_motion_of(chain);
    let counts = search.counted_anew(counts, moves.len());
    (search, counts)
}

/// How surprising a pattern is that any of the patterns is in one drawn line of [`ONE_IN`], but not less than one pattern alone would be.
/// Few lines are drawn, and their motion is itself an estimate, so five eighths of that share are allowed.
fn drawn_bound(search: &mut VocabularySearch, heights: &[i32], moves: &[i32], chance: &mut dyn FnMut() -> f64) -> f64 {
    let first = heights.first().copied().unwrap_or(60);
    let mut one = || {
        let drawn = search.chain.drawn(heights, moves, chance);
        search.most(first, &drawn)
    };
    bound((0..draws(moves)).map(|_| one()).collect(), (5, 8 * ONE_IN)).max((ONE_IN as f64).ln())
}

impl<'l> FreeVocabulary<'l> {
    /// Looks for patterns and habits in a line. `chance` draws from 0 to 1.
    #[must_use]
    pub fn of(line: &FreeLine, wanted: LookedFor<'l>, library: &Library, chance: &mut dyn FnMut() -> f64) -> Self {
        let (heights, moves) = (line.heights(), moves_of(line));
        let chain = ScaleChain::of(&heights, &moves, line.scale());
        let stock = PatternStock::of(wanted.patterns.iter().copied());
        let looked_for = stock.patterns.len();
        let search = VocabularySearch::of(stock, chain);
        let (mut search, counts) = without_far(search, &heights, &moves);
        let bound = drawn_bound(&mut search, &heights, &moves, chance);
        let near = nearest(&search, &counts, (&heights, moves.len()));
        let mut kept = named(&search, counts, bound);
        // A cell that is a pattern of the library is not a habit, even where that pattern was not looked for.
        let all = PatternStock::of(library.patterns().iter().chain(wanted.patterns.iter().copied()));
        let own = OwnCells::of((&heights, &moves), &search, &kept, &all, chance);
        kept.retain(|_, count| wanted.practised || !own.hold(&search, count));
        let begun = broken(&search, (&heights, &moves), &kept, &own.places(), wanted.practised);
        let begun_at: Vec<Range<usize>> = begun.iter().map(|one| one.moves.clone()).collect();
        let mut patterns: Vec<(f64, FoundPattern<'l>)> = Vec::new();
        let mut taken = begun_at.clone();
        for (pattern, mut count) in kept {
            // A place gives way to the beginning of a longer pattern that is known whole: it is a piece of that, or a changed form.
            let free = |hit: &Hit| begun_at.iter().all(|one| !share(one, &search.moves_of(hit)));
            if !count.all().all(free) {
                count = search.left_of(count, free);
                if count.surprise() <= bound {
                    continue;
                }
            }
            taken.extend(count.all().map(|hit| search.moves_of(hit)));
            let expected = count.expected();
            let places = count.all().map(|hit| place(&search.stock, hit, &heights)).collect();
            patterns
                .push((count.surprise(), FoundPattern { pattern: search.stock.patterns[pattern], places, expected }));
        }
        for begun in begun {
            let (pattern, expected) = (search.stock.patterns[search.stock.ways[begun.way].pattern], begun.expected);
            let place = broken_place(&search.stock, begun, &heights);
            match patterns.iter_mut().find(|(_, there)| std::ptr::eq(there.pattern, pattern)) {
                Some((_, there)) => there.places.push(place),
                None => patterns.push((surprise(1, expected), FoundPattern { pattern, places: vec![place], expected })),
            }
        }
        patterns.sort_by_cached_key(|one| rank(-one.0));
        let mut patterns: Vec<FoundPattern> = patterns.into_iter().map(|(_, found)| found).collect();
        patterns.iter_mut().for_each(|found| found.places.sort_by_cached_key(|place| place.notes.start));
        let only = only_pattern(&search, &moves).and_then(|hits| {
            let pattern = search.stock.ways[hits.first()?.way].pattern;
            let expected = search.expected(pattern, moves.len());
            let places = hits.iter().map(|hit| place(&search.stock, hit, &heights)).collect();
            Some(FoundPattern { pattern: search.stock.patterns[pattern], places, expected })
        });
        if let Some(only) = &only {
            // Whatever else stands in the line is a piece of the pattern that is all of it.
            patterns.clear();
            taken.extend(only.places.iter().map(|place| place.notes.start..place.notes.end - 1));
        }
        let own = habits(own.cells, own.bound, &taken);
        let by_chance = if patterns.is_empty() && only.is_none() { near } else { Vec::new() };
        Self { patterns, only, by_chance, habits: own.into_iter().map(habit).collect(), looked_for }
    }

    /// Every place of a pattern that is shown in a picture or a score.
    pub fn shown(&self) -> impl Iterator<Item = (&FoundPattern<'l>, &FoundPlace)> {
        self.patterns.iter().chain(&self.only).flat_map(|one| one.places.iter().map(move |place| (one, place)))
    }
}

/// Where at most [`FEW`] patterns are looked for, each with its places; else at most so many that came twice or more, the most surprising
/// first, no two of them at one place.
fn nearest<'l>(
    search: &VocabularySearch<'l>,
    counts: &BTreeMap<usize, Count>,
    (heights, moves): (&[i32], usize),
) -> Vec<FoundPattern<'l>> {
    let told = |pattern: usize| {
        let hits = counts.get(&pattern).into_iter().flat_map(Count::all);
        let mut places: Vec<FoundPlace> = hits.map(|hit| place(&search.stock, hit, heights)).collect();
        places.sort_by_key(|place| place.notes.start);
        FoundPattern { pattern: search.stock.patterns[pattern], places, expected: search.expected(pattern, moves) }
    };
    if search.stock.patterns.len() <= FEW {
        return (0..search.stock.patterns.len()).map(told).collect();
    }
    let mut often: Vec<(&usize, &Count)> = counts.iter().filter(|(_, count)| count.all().count() > 1).collect();
    often.sort_by_cached_key(|(_, count)| rank(-count.surprise()));
    let (mut taken, mut found) = (Vec::<Range<usize>>::new(), Vec::new());
    for (pattern, count) in often {
        let here: Vec<Range<usize>> = count.all().map(|hit| search.moves_of(hit)).collect();
        if found.len() < FEW && here.iter().all(|one| taken.iter().all(|other| !share(one, other))) {
            taken.extend(here);
            found.push(told(*pattern));
        }
    }
    found
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

fn broken_place(stock: &PatternStock, begun: Begun, heights: &[i32]) -> FoundPlace {
    let way = &stock.ways[begun.way];
    let key = ConcertKey(PitchClass::new(heights[begun.moves.start] - way.first));
    let notes = begun.moves.start..begun.moves.end + 1;
    FoundPlace { notes, key, from: way.start, changed: None, broken: true }
}

/// The cells that come again and again beside the patterns of a line.
struct OwnCells {
    cells: Vec<RepeatedCell>,
    /// How surprising a cell is that one in [`ONE_IN`] lines has by chance.
    bound: f64,
}

impl OwnCells {
    /// The cells of a line, weighed against the rest of the line. A named pattern is taken out, since its own moves would make every cell
    /// likely that has some of them; only one that may be a piece of a cell stays in.
    fn of(
        (heights, moves): (&[i32], &[i32]),
        search: &VocabularySearch,
        named: &BTreeMap<usize, Count>,
        all: &PatternStock,
        chance: &mut dyn FnMut() -> f64,
    ) -> Self {
        let repeated = cells(moves, &search.chain, all);
        let mut rest = moves.to_vec();
        let apart = named.values().filter(|count| !repeated.iter().any(|cell| holds(cell, search, count)));
        apart.flat_map(Count::all).for_each(|hit| rest[search.moves_of(hit)].fill(PARTED));
        let chain = search.chain.of_moves(heights, &rest);
        let most = |moves: &[i32]| cells(moves, &chain, &search.stock).first().map_or(0.0, |cell| cell.surprise);
        let drawn = (0..draws(moves)).map(|_| most(&chain.drawn(heights, &rest, chance))).collect();
        Self { cells: cells(&rest, &chain, all), bound: bound(drawn, (1, ONE_IN)) }
    }

    /// The places, as moves, of the cells that stand out.
    fn places(&self) -> Vec<Range<usize>> {
        let beyond = self.cells.iter().take_while(|cell| cell.surprise > self.bound);
        beyond.flat_map(|cell| cell.at.iter().map(|at| *at..*at + cell.moves.len())).collect()
    }

    /// Whether a pattern is a piece of a more surprising cell of the player's own: then the cell is the habit, and the pattern is not named.
    fn hold(&self, search: &VocabularySearch, count: &Count) -> bool {
        let mut beyond = self.cells.iter().take_while(|cell| cell.surprise > self.bound.max(count.surprise()));
        beyond.any(|cell| holds(cell, search, count))
    }
}

/// Whether every place of a pattern lies inside a cell of which the pattern fills at most two thirds.
fn holds(cell: &RepeatedCell, search: &VocabularySearch, count: &Count) -> bool {
    let inside = |moves: Range<usize>| {
        let mut places = cell.at.iter().map(|at| *at..at + cell.moves.len());
        3 * moves.len() <= 2 * cell.moves.len() && places.any(|one| one.start <= moves.start && moves.end <= one.end)
    };
    count.all().all(|hit| inside(search.moves_of(hit)))
}
