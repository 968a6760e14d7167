use super::chance::ScaleChain;
use super::search::ONE_IN;
use super::vocabulary::moves_of;
use super::{FEW, FreeLine, FreeVocabulary, LookedFor, TempoFrom};
use crate::learn::LineNote;
use crate::music::Concert;
use crate::pattern::{Library, Pattern};
use crate::units::{Seconds, Tempo};

/// Splitmix64, from memory.
struct Draws(u64);

impl Draws {
    fn draw(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ mixed >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ mixed >> 31) >> 11) as f64 / (1u64 << 53) as f64
    }
    fn below(&mut self, n: usize) -> usize {
        (self.draw() * n as f64) as usize
    }
}

fn line(heights: &[i32]) -> FreeLine {
    let note = |(n, height): (usize, &i32)| {
        let onset = Seconds(n as f64 * 0.25);
        LineNote { pitch: Concert(*height), onset, release: onset + Seconds(0.24), letters: None }
    };
    let notes: Vec<LineNote> = heights.iter().enumerate().map(note).collect();
    FreeLine {
        heard: notes.len(),
        by_ear: true,
        doubtful: 0,
        notes,
        tempo: Some(Tempo(120.0)),
        tempo_changes: false,
        tempo_from: TempoFrom::Told,
        tempo_or: None,
    }
}

/// Eighths along a scale, with turns and thirds, and now and then a note between two of the scale.
fn filler(notes: usize, from: i32, draws: &mut Draws) -> Vec<i32> {
    let (mut place, mut way, mut heights) = (from, 1, Vec::new());
    let height = |place: i32| 60 + 12 * place.div_euclid(7) + [0, 2, 4, 5, 7, 9, 11][place.rem_euclid(7) as usize];
    while heights.len() < notes {
        way = if draws.below(6) == 0 || place.abs() > 9 { -place.signum() | 1 } else { way };
        place += way * [1, 1, 1, 1, 1, 2, 2, 3][draws.below(8)];
        heights.push(height(place) + i32::from(draws.below(14) == 0));
    }
    heights
}

fn looked<'l>(line: &FreeLine, patterns: &'l [&'l Pattern], draws: &mut Draws) -> FreeVocabulary<'l> {
    let wanted = LookedFor { patterns, practised: false };
    FreeVocabulary::of(line, wanted, Library::builtin(), &mut || draws.draw())
}

/// `EARFIRST_LONGER=1` draws 200 lines.
#[test]
fn lines_drawn_by_chance_hardly_ever_name_a_pattern_or_a_habit() {
    let lines = if std::env::var_os("EARFIRST_LONGER").is_some() { 200 } else { 5 };
    let patterns: Vec<&Pattern> = Library::builtin().patterns().iter().collect();
    let (mut draws, mut named, mut habits) = (Draws(24), 0, 0);
    for _ in 0..lines {
        let heights = filler(80, 4, &mut draws);
        let moves = moves_of(&line(&heights));
        let chain = ScaleChain::of(&heights, &moves, line(&heights).scale());
        let mut drawn = vec![heights[0]];
        for by in chain.drawn(&heights, &moves, &mut || draws.draw()) {
            drawn.push(drawn[drawn.len() - 1] + by);
        }
        let found = looked(&line(&drawn), &patterns, &mut draws);
        (named, habits) =
            (named + usize::from(!found.patterns.is_empty()), habits + usize::from(!found.habits.is_empty()));
    }
    println!("of {lines} lines {named} name a pattern, {habits} a habit");
    assert!(named.max(habits) <= 1.max(lines / ONE_IN));
}

/// `EARFIRST_LONGER=1` draws 200 lines.
#[test]
fn lines_drawn_by_chance_hardly_ever_begin_a_pattern_that_is_practised() {
    let lines = if std::env::var_os("EARFIRST_LONGER").is_some() { 200 } else { 20 };
    let all: Vec<&Pattern> = Library::builtin().patterns().iter().collect();
    let (mut draws, mut begun) = (Draws(31), 0);
    for _ in 0..lines {
        let heights = filler(80, 4, &mut draws);
        let practised: Vec<&Pattern> = (0..5).map(|_| all[draws.below(all.len())]).collect();
        let wanted = LookedFor { patterns: &practised, practised: true };
        let found = FreeVocabulary::of(&line(&heights), wanted, Library::builtin(), &mut || draws.draw());
        begun += usize::from(found.patterns.iter().flat_map(|one| &one.places).any(|place| place.broken));
    }
    println!("of {lines} lines {begun} begin one of five patterns and break off");
    assert!(begun <= 1.max(lines / ONE_IN));
}

fn pattern(id: &str) -> &'static Pattern {
    Library::builtin().patterns().iter().find(|one| one.id.0 == id).unwrap()
}

/// A pattern in these keys, with filler between.
fn in_keys(id: &str, keys: &[i32], draws: &mut Draws) -> Vec<i32> {
    let shape: Vec<i32> = pattern(id).notes().iter().map(|note| note.degree.half_steps).collect();
    let mut heights = filler(12, 0, draws);
    for key in keys {
        heights.extend(shape.iter().map(|height| key + height));
        heights.extend(filler(9, -2, draws));
    }
    heights
}

#[test]
fn a_pattern_whose_moves_nothing_else_in_the_line_has_is_named() {
    // Sevenths up the scale: no filler leaps by a seventh, so the line itself would have them as often as they were played.
    let all: Vec<&Pattern> = Library::builtin().patterns().iter().collect();
    let mut draws = Draws(3);
    let heights = in_keys("sevenths-up-mixolydian", &[56, 59, 61], &mut draws);
    let found = looked(&line(&heights), &all, &mut draws);
    let names: Vec<(&str, usize)> =
        found.patterns.iter().map(|one| (one.pattern.id.0.as_str(), one.places.len())).collect();
    assert_eq!(names, [("sevenths-up-mixolydian", 3)]);
}

#[test]
fn a_scale_is_no_other_scale_with_a_note_changed() {
    let all: Vec<&Pattern> = Library::builtin().patterns().iter().collect();
    let mut draws = Draws(5);
    let heights = in_keys("dorian-up", &[58, 61, 63, 66], &mut draws);
    let found = looked(&line(&heights), &all, &mut draws);
    let changed = found.patterns.iter().flat_map(|one| &one.places).filter(|place| place.changed.is_some());
    assert_eq!(changed.count(), 0, "{found:?}");
}

#[test]
fn a_scale_played_twice_over_its_last_note_is_that_scale_twice_and_nothing_else() {
    let all: Vec<&Pattern> = Library::builtin().patterns().iter().collect();
    let once = [53, 55, 57, 58, 60, 62, 64, 65, 67, 65, 64, 62, 60, 58, 57, 55];
    let heights: Vec<i32> = once.iter().chain(&once).copied().chain([53]).collect();
    let found = looked(&line(&heights), &all, &mut Draws(9));
    let only = found.only.unwrap();
    let places: Vec<(usize, i32)> = only.places.iter().map(|place| (place.notes.start, place.key.0.get())).collect();
    assert_eq!((only.pattern.id.0.as_str(), places), ("major-scale-to-the-9th-and-back", vec![(0, 5), (16, 5)]));
    assert!(found.patterns.is_empty() && found.habits.is_empty());
}

#[test]
fn what_comes_again_in_other_keys_is_named_and_so_is_a_habit() {
    let library = Library::builtin();
    let wanted: Vec<&Pattern> =
        library.patterns().iter().filter(|one| one.id.0 == "enclosures-of-every-tone-of-a-dominant-seventh").collect();
    assert_eq!(wanted.len(), 1);
    let shape: Vec<i32> = wanted[0].notes().iter().map(|note| note.degree.half_steps).collect();
    let own = [0, 6, 5, -3, 2];
    let mut draws = Draws(7);
    let mut heights = filler(6, 0, &mut draws);
    for key in [60, 65, 58, 62] {
        heights.extend(shape.iter().map(|height| key + height));
        heights.extend(filler(5, 2, &mut draws));
        heights.extend(own.map(|height| key + 3 + height));
        heights.extend(filler(7, -2, &mut draws));
    }
    let found = looked(&line(&heights), &wanted, &mut draws);
    let keys: Vec<i32> = found.patterns[0].places.iter().map(|place| place.key.0.get()).collect();
    assert_eq!(keys, [0, 5, 10, 2]);
    assert_eq!(found.habits[0].places.len(), 4);
    assert!(found.habits[0].places[0].len() >= 5);
}

/// Plants three patterns of the library, `times` times each, in every one of `choruses` lines of filler. Hands back how many places
/// are found, how many there are, and how many are reported where none was planted.
fn planted(times: usize, choruses: usize, draws: &mut Draws) -> (usize, usize, usize) {
    let patterns: Vec<&Pattern> = Library::builtin().patterns().iter().collect();
    let usable: Vec<&Pattern> = patterns.iter().copied().filter(|one| (7..=14).contains(&one.notes().len())).collect();
    let (mut found, mut all, mut besides) = (0, 0, 0);
    for _ in 0..choruses {
        let chosen: Vec<&Pattern> = (0..3).map(|_| usable[draws.below(usable.len())]).collect();
        let mut heights = filler(6, 0, draws);
        let mut places: Vec<std::ops::Range<usize>> = Vec::new();
        for pattern in (0..times).flat_map(|_| &chosen) {
            let key = 55 + draws.below(12) as i32;
            let first = heights.len();
            heights.extend(pattern.notes().iter().map(|note| key + note.degree.half_steps));
            places.push(first..heights.len());
            let (notes, from) = (3 + draws.below(5), draws.below(7) as i32 - 3);
            heights.extend(filler(notes, from, draws));
        }
        let named = looked(&line(&heights), &patterns, draws);
        let named: Vec<_> = named.patterns.iter().flat_map(|one| &one.places).collect();
        found += places.iter().filter(|notes| named.iter().any(|place| place.notes == **notes)).count();
        all += places.len();
        let over = |notes: &std::ops::Range<usize>, place: &std::ops::Range<usize>| {
            notes.start < place.end && place.start < notes.end
        };
        besides += named.iter().filter(|place| !places.iter().any(|notes| over(notes, &place.notes))).count();
    }
    (found, all, besides)
}

/// `EARFIRST_LONGER=1` plays twenty choruses each.
#[test]
fn a_pattern_that_comes_three_times_is_named_and_hardly_any_besides() {
    let longer = std::env::var_os("EARFIRST_LONGER").is_some();
    let mut draws = Draws(11);
    for times in if longer { 1..=3 } else { 3..=3 } {
        // Of two choruses with eighteen places a single one besides would already be more than one in twenty.
        let (found, all, besides) = planted(times, if longer { 20 } else { 6 }, &mut draws);
        println!("{times} times: {found} of {all} found, {besides} besides");
        assert!(times < 3 || 10 * found >= 9 * all);
        assert!(20 * besides <= all);
    }
}

#[test]
fn one_pattern_that_is_asked_for_is_told_wherever_it_came_and_also_that_it_did_not() {
    let pattern = Library::builtin().find("five-note-row-up-and-down").unwrap();
    // Once in a long line of steps, where chance gives it as well as not.
    let mut draws = Draws(11);
    let once =
        [filler(60, 4, &mut draws), vec![60, 62, 64, 65, 67, 65, 64, 62, 60], filler(60, 4, &mut draws)].concat();
    let patterns = [pattern];
    let line_once = line(&once);
    let found = looked(&line_once, &patterns, &mut draws);
    let all = found.by_chance.iter().chain(&found.patterns).next().expect("it is told");
    assert!(all.places.iter().any(|place| place.notes.start == 60), "{all:?}");
    let never = line(&[60, 64, 67, 72, 67, 64, 60, 64, 67, 72, 67, 64, 60]);
    let found = looked(&never, &patterns, &mut draws);
    assert!(found.by_chance.first().is_some_and(|it| it.places.is_empty()) && found.patterns.is_empty());
}

#[test]
fn where_nothing_stands_out_in_a_short_chorus_what_came_again_is_told_with_its_places() {
    // 1 2 3 5 on three roots, and little else: too short a line for any of the whole library to stand out.
    let heights = [60, 62, 64, 67, 65, 64, 65, 67, 69, 72, 70, 69, 60, 62, 64, 67, 64, 60];
    let (library, mut draws) = (Library::builtin(), Draws(11));
    let all: Vec<&Pattern> = library.patterns().iter().collect();
    let found = looked(&line(&heights), &all, &mut draws);
    assert!(found.patterns.is_empty() && (1..=FEW).contains(&found.by_chance.len()), "{found:?}");
    assert!(found.by_chance.iter().all(|it| it.places.len() > 1), "{found:?}");
}
