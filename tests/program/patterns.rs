//! The library of patterns: its files, its sound, and the ranges of players.

use earfirst::outside::music::{
    Concert, ConcertKey, Degree, HalfSteps, Instrument, Level, Range, Spelled, instruments, spell_degree_above,
};
use earfirst::outside::pattern::{self, Family, Library, Pattern, PatternId, PatternQuery, Register};
use earfirst::outside::units::Beats;

const FILES: [(&str, &str); 4] = [
    ("stepwise.toml", include_str!("../../assets/patterns/stepwise.toml")),
    ("half-steps.toml", include_str!("../../assets/patterns/half-steps.toml")),
    ("skips.toml", include_str!("../../assets/patterns/skips.toml")),
    ("phrase.toml", include_str!("../../assets/patterns/phrase.toml")),
];
const ORACLE: [(&str, &str); 4] = [
    ("stepwise", include_str!("../data/patterns/stepwise.tsv")),
    ("half steps", include_str!("../data/patterns/half-steps.tsv")),
    ("skips", include_str!("../data/patterns/skips.tsv")),
    ("phrase", include_str!("../data/patterns/phrase.tsv")),
];

fn named(id: &str) -> &'static Pattern {
    Library::builtin().get(&PatternId(id.into())).unwrap_or_else(|| panic!("{id}"))
}

fn half_steps(pattern: &Pattern) -> Vec<i32> {
    pattern.notes().iter().map(|step| step.degree.half_steps).collect()
}

#[test]
fn every_file_that_comes_with_the_program_is_right() {
    for (name, text) in FILES {
        let troubles: Vec<String> = pattern::check(text, name).iter().map(ToString::to_string).collect();
        assert!(troubles.is_empty(), "{}", troubles.join("\n"));
    }
}

#[test]
fn each_family_holds_as_many_patterns_as_a_teacher_would_want() {
    let tables = |name: &str| FILES.iter().find(|file| file.0 == name).unwrap().1.matches("[[pattern]]").count();
    let counts = ["stepwise.toml", "half-steps.toml", "skips.toml", "phrase.toml"].map(tables);
    assert!(counts[0] >= 50 && counts[1] >= 50 && counts[2] >= 65 && counts[3] >= 40, "{counts:?}");
    for (name, family) in Family::NAMES {
        let list = Library::builtin().select(&PatternQuery { family: Some(family), ..PatternQuery::default() });
        let file = FILES.iter().find(|file| file.0.starts_with(&name.replace(' ', "-"))).unwrap().1;
        assert!(list.len() >= file.matches("[[pattern]]").count());
        assert!(list.iter().all(|pattern| !pattern.trains.is_empty() && !pattern.source.is_empty()));
        let levels: Vec<u8> = list.iter().map(|pattern| pattern.level).collect();
        assert!((2..=4).all(|level| levels.contains(&level)), "{name}");
    }
}

#[test]
fn the_half_steps_of_the_catalogue_are_those_of_an_independent_library() {
    // The answers are by music21 10.5.1 (the head of each data file says how). Here a row may stand an octave lower, because the player
    // chooses the octave.
    for (file, rows) in ORACLE {
        let mut seen = 0;
        for row in rows.lines().filter(|line| !line.starts_with('#')) {
            let columns: Vec<&str> = row.split('\t').collect();
            let [id, theirs, span, beats] = columns[..] else { panic!("{file}: {row}") };
            let theirs: Vec<i32> = theirs.split(' ').map(|n| n.parse().unwrap()).collect();
            let pattern = named(id);
            let ours = half_steps(pattern);
            let up = theirs[0] - ours[0];
            assert_eq!(up.rem_euclid(12), 0, "{id}: the first note");
            assert_eq!(ours.iter().map(|n| n + up).collect::<Vec<_>>(), theirs, "{id}");
            assert_eq!(pattern.span().0, span.parse::<i32>().unwrap(), "{id}: span");
            assert_eq!(pattern.length(), Beats(beats.parse().unwrap()), "{id}: length");
            seen += 1;
        }
        assert!(seen >= 40, "{file}");
    }
}

#[test]
fn every_pattern_is_spelled_as_an_independent_library_spells_it() {
    // The answers are by music21 10.5.1 (the head of the file says how): chord tones, intervals, moved cells and half steps of the whole
    // library.
    let c4: Spelled = "C4".parse().unwrap();
    let rows = include_str!("../data/patterns/spelled.tsv").lines().filter(|line| !line.starts_with('#'));
    let theirs: Vec<(&str, &str)> = rows.map(|row| row.split_once('\t').unwrap()).collect();
    for (id, notes) in &theirs {
        let ours = named(id).notes().iter().map(|step| spell_degree_above(c4, step.degree).to_string());
        assert_eq!(ours.collect::<Vec<_>>().join(" "), *notes, "{id}");
    }
    let all: Vec<&str> = Library::builtin().patterns().iter().map(|pattern| pattern.id.0.as_str()).collect();
    assert_eq!(theirs.iter().map(|row| row.0).collect::<Vec<_>>(), all, "a row each, in order");
}

#[test]
fn every_field_of_the_notation_is_shown_by_some_pattern_of_the_library() {
    let some = |shows: fn(&Pattern) -> bool| Library::builtin().patterns().iter().any(shows);
    assert!(some(|pattern| pattern.swing) && some(|pattern| pattern.notation.pickup > 0));
    assert!(some(|pattern| pattern.notation.repeats > 1) && some(|pattern| pattern.notation.sequence.is_some()));
    let repeated = named("blues-call-three-times");
    assert_eq!((repeated.notes().len(), repeated.length(), repeated.chords().len()), (15, Beats(12.0), 3));
    let led = named("ii-v-i-from-a-three-note-pick-up");
    assert_eq!((led.pickup(), led.chords()[0].at.beats()), (Beats(1.5), Beats(1.5)));
    assert_eq!(pattern::fragments(led)[0].bar, 0, "its first part is the pick-up");
}

#[test]
fn a_pattern_printed_and_read_again_is_the_same_pattern() {
    for pattern in Library::builtin().patterns() {
        let (again, troubles) = pattern::read(&pattern::print(pattern), "printed");
        assert_eq!(troubles, []);
        assert_eq!(again, std::slice::from_ref(pattern));
    }
    let file = pattern::print_file(Library::builtin().patterns());
    let (again, _) = pattern::read(&file, "printed");
    assert_eq!(pattern::print_file(&again), file);
}

/// Narrow ranges beside those of real instruments, as sounding MIDI numbers: an octave, and a fifth.
const NARROW: [(i32, i32); 2] = [(60, 72), (58, 65)];

/// The ranges of every instrument at every level, and two narrow ones, each once.
fn ranges() -> Vec<Range> {
    let levels = [Level::Student, Level::Working, Level::Professional];
    let of = |player: &Instrument| levels.map(|level| player.range(level));
    let mut all: Vec<Range> = instruments().iter().flat_map(of).collect();
    all.extend(NARROW.map(|(low, high)| Range { low: Concert(low), high: Concert(high) }));
    all.sort_by_key(|range| (range.low, range.high));
    all.dedup();
    all
}

/// All tonics, in every octave, at which every note of a line lies inside a range.
fn fits(heights: &[i32], key: ConcertKey, range: Range) -> Vec<i32> {
    let inside = |tonic: &i32| heights.iter().all(|n| range.contains(Concert(tonic + n)));
    let octaves = (-6..15).map(|octave| key.0.get() + 12 * octave);
    octaves.filter(inside).collect()
}

#[test]
fn every_pattern_in_every_key_for_every_instrument_stands_in_the_octave_asked_for_or_is_refused_rightly() {
    // Brute force over every octave, so that a refusal is proved and so is the choice among those that fit.
    let ranges = ranges();
    assert!(instruments().len() >= 30 && ranges.len() >= 60, "{} instruments", instruments().len());
    let (mut placed, mut refused) = (0u32, 0u32);
    for pattern in Library::builtin().patterns() {
        let heights = half_steps(pattern);
        let (top, bottom) = (heights.iter().max().unwrap(), heights.iter().min().unwrap());
        for (range, key) in ranges.iter().flat_map(|range| ConcertKey::FIFTHS.map(|key| (*range, key))) {
            let tonics = fits(&heights, key, range);
            let off = |tonic: i32| (2 * tonic + top + bottom - range.low.0 - range.high.0).abs();
            for register in [Register::Low, Register::Middle, Register::High] {
                match pattern::realise(pattern, key, None, range, register) {
                    Ok(line) => {
                        placed += 1;
                        let tonic = line.notes[0].pitch.0 - heights[0];
                        let right = match register {
                            Register::Low => tonic == tonics[0],
                            Register::High => Some(&tonic) == tonics.last(),
                            Register::Middle => tonics.iter().all(|other| off(tonic) <= off(*other)),
                        };
                        assert!(right && tonics.contains(&tonic), "{} {key:?} {register:?}", pattern.id);
                        let folded = line.notes.iter().zip(&heights).any(|(note, n)| note.pitch.0 != tonic + n);
                        assert!(!folded, "{}: a note was folded into the range", pattern.id);
                    }
                    Err(refusal) => {
                        refused += 1;
                        assert!(tonics.is_empty(), "{}: {refusal}", pattern.id);
                        assert_eq!(refusal.nearest.span(), pattern.span());
                    }
                }
            }
        }
    }
    assert!(refused > 0 && placed > 10 * refused, "{placed} placed, {refused} refused");
}

#[test]
fn transposing_keeps_the_intervals() {
    let range = Range { low: Concert(0), high: Concert(127) };
    for pattern in Library::builtin().patterns() {
        let intervals = |key| {
            let line = pattern::realise(pattern, key, None, range, Register::Middle).unwrap();
            line.notes.windows(2).map(|pair| pair[1].pitch - pair[0].pitch).collect::<Vec<HalfSteps>>()
        };
        let in_c = intervals(ConcertKey::FIFTHS[0]);
        assert!(ConcertKey::FIFTHS.iter().all(|key| intervals(*key) == in_c), "{}", pattern.id);
    }
}

#[test]
fn a_line_is_in_order_of_time_without_overlaps_and_as_long_as_it_says() {
    let range = Range { low: Concert(0), high: Concert(127) };
    for pattern in Library::builtin().patterns() {
        let line = pattern::realise(pattern, ConcertKey::FIFTHS[3], None, range, Register::Low).unwrap();
        assert!(
            line.notes.windows(2).all(|pair| pair[0].at.0 + pair[0].length.0 <= pair[1].at.0 + 1e-9),
            "{}",
            pattern.id
        );
        assert!(
            line.notes.last().is_some_and(|note| note.at.0 + note.length.0 <= line.length.0 + 1e-9),
            "{}",
            pattern.id
        );
    }
}

fn from(id: &str, start: &str) -> String {
    let degrees = pattern::from_degree(named(id), Degree::parse(start));
    degrees.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
}

#[test]
fn a_pattern_starts_on_any_degree_of_its_own_scale_or_chord() {
    assert_eq!(from("1-2-3-5-cell-major", "2"), "2 3 4 6");
    assert_eq!(from("1-2-3-5-cell-minor", "b3"), "b3 4 5 b7");
    assert_eq!(from("seventh-chord-up-m7", "b3"), "b3 5 b7 8");
    assert_eq!(from("seventh-chord-up-dim7", "bb7,"), "bb7, 1 b3 b5");
    assert_eq!(from("major-pentatonic-up", "3"), "3 5 6 8 9 10");
    assert_eq!(from("dorian-up", "5"), "5 6 b7 8 9 b10 11 12");
}

#[test]
fn a_pattern_begun_elsewhere_is_a_pattern_of_its_own() {
    let range = Range { low: Concert(0), high: Concert(127) };
    for pattern in Library::builtin().patterns() {
        let line = |pattern: &Pattern, start| {
            pattern::realise(pattern, ConcertKey::FIFTHS[2], start, range, Register::Middle).unwrap()
        };
        for start in pattern::starts(pattern) {
            let Some(begun) = pattern::begun_on(pattern, start) else { continue };
            assert_eq!(line(&begun, None), line(pattern, Some(start)), "{}", begun.id);
            let (again, troubles) = pattern::read(&pattern::print(&begun), "printed");
            assert_eq!((troubles, again), (vec![], vec![begun]));
        }
    }
    let second = pattern::begun_on(named("1-2-3-5-cell-major"), Degree::altered(1, 0)).unwrap();
    assert_eq!(
        (second.id.0.as_str(), second.name.as_str()),
        ("1-2-3-5-cell-major-from-2", "1-2-3-5 cell, major, from 2")
    );
    assert_eq!(pattern::begun_on(named("half-step-turn"), Degree::altered(1, 0)), None);
    assert_eq!(pattern::begun_on(named("1-2-3-5-cell-major"), Degree::TONIC), None);
}

#[test]
fn half_steps_and_phrases_move_exactly() {
    assert_eq!(from("surround-the-third", "6"), "6 x4 #5");
    assert_eq!(from("half-step-turn", "b3"), "b3 b4 b3 2 b3");
}

#[test]
fn every_phrase_is_made_of_parts_of_the_three_families() {
    for pattern in Library::builtin().patterns().iter().filter(|pattern| pattern.family == Family::Phrase) {
        let parts = pattern::fragments(pattern);
        assert!(!parts.is_empty(), "{}", pattern.id);
        assert!(parts.iter().all(|part| part.family != Family::Phrase && part.notes.len() >= 2), "{}", pattern.id);
        let ordered = parts.windows(2).all(|w| w[0].notes.end <= w[1].notes.start + 1 && w[0].bar <= w[1].bar);
        assert!(ordered && parts.iter().all(|part| part.notes.end <= pattern.notes().len()), "{}", pattern.id);
    }
    // Marked by hand: bar and family of each part.
    let marked = |id: &str| {
        let parts = pattern::fragments(named(id));
        parts.iter().map(|part| (part.bar, part.family)).collect::<Vec<_>>()
    };
    use Family::{HalfSteps, Skips, Stepwise};
    assert_eq!(marked("ii-v-i-arpeggio-up-then-scale-down-to-3"), [(1, Skips), (1, Stepwise)]);
    assert_eq!(marked("i-vi-ii-v-root-position-arpeggios").iter().filter(|part| part.1 != Skips).count(), 0);
    assert_eq!(marked("chromatic-joined-to-triad-joined-to-scale")[..2], [(1, HalfSteps), (1, Skips)]);
    assert_eq!(marked("scale-run-joined-to-surround-joined-to-arpeggio")[0], (1, Stepwise));
}

#[test]
fn a_pattern_of_one_family_is_mostly_one_part() {
    // A run of five notes, an arpeggio, a row of half steps, a target gone round: one part each (common practice).
    for (id, family) in [
        ("five-note-row-up-and-down", Family::Stepwise),
        ("seventh-chord-up-m7b5", Family::Skips),
        ("chromatic-octave-down", Family::HalfSteps),
        ("surround-the-third", Family::HalfSteps),
    ] {
        let parts = pattern::fragments(named(id));
        assert!(matches!(&parts[..], [only] if only.family == family), "{id}: {parts:?}");
    }
}

#[test]
fn a_name_typed_wrongly_finds_its_neighbours() {
    let library = Library::builtin();
    assert_eq!(library.find("Broken Triad").unwrap().id.0, "broken-triad");
    assert_eq!(library.find("seventh_chord_up_m7").unwrap().id.0, "seventh-chord-up-m7");
    let unknown = library.find("brokn-triad").unwrap_err();
    assert_eq!(unknown.nearest[0].0, "broken-triad");
    let begun = library.find("five-note-rwo").unwrap_err();
    assert!(begun.nearest[0].0.starts_with("five-note-row"), "{begun}");
    assert!(unknown.to_string().contains("broken-triad"), "{unknown}");
}

#[test]
fn the_chord_of_a_cue_is_the_one_on_which_the_line_begins() {
    // Spelled by hand: Dm7 in C, C7 in C, C and G over any chord.
    let pitches = |id| named(id).chord(ConcertKey::FIFTHS[0]).iter().map(|pitch| pitch.0).collect::<Vec<_>>();
    assert_eq!(pitches("ii-v-i-1-2-3-5-on-each"), [50, 53, 57, 60]);
    assert_eq!(pitches("mixolydian-up"), [48, 52, 55, 58]);
    assert_eq!(pitches("half-step-turn"), [48, 55]);
}
