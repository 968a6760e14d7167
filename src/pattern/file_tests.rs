//! What is told of a pattern file that is wrong, and whether what is printed reads back.

use crate::music::Concert;
use crate::pattern::file::{check, read};
use crate::pattern::print::print;
use crate::pattern::write::{PatternHeader, Unwritable, begun_on, from_line};
use crate::pattern::{ExpectedNote, Family, Line, Pattern, PatternId, TempoRange, starts};
use crate::units::{Beats, Tempo};

/// A table with these fields besides the usual ones.
fn table(fields: &str) -> String {
    format!("[[pattern]]\nname = \"x\"\nlevel = 1\n{fields}\n")
}

/// The only trouble of a table.
fn told(fields: &str) -> String {
    let troubles = check(&table(fields), "mine.toml");
    assert_eq!(troubles.len(), 1, "{fields}: {troubles:?}");
    troubles[0].to_string()
}

fn reads_back(pattern: &Pattern) {
    let text = print(pattern);
    let (read, troubles) = read(&text, "mine.toml");
    assert_eq!(troubles, [], "{text}");
    assert_eq!(read, std::slice::from_ref(pattern), "{text}");
}

#[test]
fn the_tone_that_a_chord_lacks_is_named_and_no_other() {
    let tones = |over: &str, notes: &str| {
        told(&format!(
            "id = \"x\"\nfamily = \"skips\"\ntempo = [60, 120]\nover = [\"{over}\"]\nreads = \"chord tones\"\nnotes = \"{notes}\""
        ))
    };
    // Common practice: a power chord has no third, an altered dominant no perfect fifth.
    assert!(tones("m", "1 3 5 7").contains("it has no seventh"), "{}", tones("m", "1 3 5 7"));
    assert!(tones("5", "1 3 5 8").contains("it has no third"), "{}", tones("5", "1 3 5 8"));
    assert!(tones("7alt", "1 3 [5 7]").contains("it has no fifth"), "{}", tones("7alt", "1 3 [5 7]"));
}

#[test]
fn a_tempo_range_is_two_whole_numbers_and_nothing_besides() {
    let with = |tempo: &str| format!("id = \"x\"\nfamily = \"skips\"\ntempo = {tempo}\nnotes = \"1 3 5\"");
    for tempo in ["[60, \"fast\", 160]", "[60, 100.5, 160]", "[60]", "60", "[160, 60]", "[60, 100, 160]"] {
        assert!(told(&with(tempo)).contains("two tempos from 20 to 400"), "{tempo}");
    }
    assert_eq!(check(&table(&with("[60, 160]")), "mine.toml"), []);
}

#[test]
fn an_id_has_room_for_the_chord_that_is_added_to_it() {
    let with = |id: &str| {
        format!(
            "id = \"{id}\"\nfamily = \"skips\"\ntempo = [60, 120]\nover = [\"maj7\", \"m7\"]\nreads = \"chord tones\"\nnotes = \"1 3 5 7\""
        )
    };
    let (fits, long) = ("a".repeat(59), "a".repeat(60));
    let (patterns, troubles) = read(&table(&with(&fits)), "mine.toml");
    assert_eq!((patterns.len(), troubles.len()), (2, 0));
    patterns.iter().for_each(reads_back);
    assert!(told(&with(&long)).contains("at most 64 letters for id"), "{}", told(&with(&long)));
}

#[test]
fn too_many_signs_are_told_once_though_a_group_is_open_there() {
    let notes = format!("{}[1 2 3]", "1 ".repeat(510));
    let said = told(&format!("id = \"x\"\nfamily = \"stepwise\"\ntempo = [60, 120]\nnotes = \"{notes}\""));
    assert!(said.contains("no more than 512 signs"), "{said}");
}

fn header(family: Family) -> PatternHeader {
    let (id, name, source) = (PatternId("mine".to_owned()), "mine".to_owned(), "from memory".to_owned());
    let tempo = TempoRange { low: Tempo(60.0), high: Tempo(120.0) };
    PatternHeader { id, name, family, level: 1, tempo, over: Vec::new(), source }
}

#[test]
fn a_line_that_is_written_reads_back_or_is_told_to_be_too_long() {
    // Two notes in a quarter, four fifths and one fifth of it long: each quarter is a group of five with two brackets.
    let line = |quarters: usize| {
        let note = |at: f64, length: f64| ExpectedNote {
            pitch: Concert(60),
            at: Beats(at),
            length: Beats(length),
            named: None,
        };
        let notes = (0..quarters).flat_map(|n| [note(n as f64, 0.8), note(n as f64 + 0.8, 0.2)]).collect();
        Line { notes, length: Beats(quarters as f64) }
    };
    reads_back(&from_line(&line(70), Concert(60), header(Family::Stepwise)).unwrap());
    let long = from_line(&line(110), Concert(60), header(Family::Stepwise)).unwrap_err();
    assert_eq!(long, Unwritable::Long { bars: 28, signs: 770 });
}

#[test]
fn a_note_too_high_is_told_by_the_octaves_that_can_be_written() {
    let line = |up: i32| {
        let pitch = Concert(60 + up);
        Line {
            notes: vec![ExpectedNote { pitch, at: Beats(0.0), length: Beats(1.0), named: None }],
            length: Beats(1.0),
        }
    };
    let why = |up: i32, family: Family| {
        from_line(&line(up), Concert(60), header(family)).map(drop).map_err(|it| it.to_string())
    };
    assert_eq!(why(36, Family::HalfSteps), Ok(()));
    assert!(why(37, Family::HalfSteps).unwrap_err().contains("more than 3 octaves above"));
    assert!(why(26, Family::Skips).unwrap_err().contains("more than 2 octaves above"));
}

#[test]
fn a_pick_up_keeps_its_length_where_the_pattern_begins_on_another_note() {
    // Quarters from the last off-beat before the bar line on: only in eighths does a bar line stand between two signs.
    let text = table(
        "id = \"x\"\nfamily = \"stepwise\"\ntempo = [60, 120]\nover = [\"maj7\"]\npickup = 1\nnotes = \"1 - 2 - 3 - 4 -\"",
    );
    let (patterns, troubles) = read(&text, "mine.toml");
    assert_eq!(troubles, []);
    let moved: Vec<Pattern> =
        starts(&patterns[0]).into_iter().filter_map(|start| begun_on(&patterns[0], start)).collect();
    assert!(moved.len() >= 5, "{}", moved.len());
    for pattern in moved {
        assert_eq!(pattern.pickup(), Beats(0.5), "{}", print(&pattern));
        reads_back(&pattern);
    }
}
