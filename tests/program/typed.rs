//! What is typed with a slip, or hides something, is said.

use crate::desk::Desk;

#[test]
fn a_range_typed_from_the_top_down_is_not_taken_silently() {
    let desk = Desk::new("range");
    let (code, said) = desk.run("patterns show major-triad-up --key C --range C6-G3");
    assert!(code == 2 && said.contains("the range goes down, from C6 to G3") && said.contains("--range"), "{said}");
    assert!(desk.done("patterns show major-triad-up --key C --range G3-C6").contains("G3 to C6, your own"));
}

#[test]
fn the_usual_compass_is_a_students_until_another_is_asked_for() {
    let desk = Desk::new("compass");
    // Written compass of a trumpet in Bb at three levels (common practice; `assets/instruments.toml`).
    let shown = |more: &str| desk.done(&format!("patterns show major-triad-up --key C --instrument trumpet{more}"));
    assert!(shown("").contains("G3 to G5, a student's compass on the trumpet in Bb"), "{}", shown(""));
    let working = shown(" --compass working");
    assert!(working.contains("a working player's compass"), "{working}");
    assert!(shown(" --compass professional").contains("F#3 to D6, a professional's compass"));
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    desk.file("data/settings.toml", b"compass = \"professional\"\n");
    assert!(shown("").contains("a professional's compass"), "the setting is used");
    assert!(shown(" --compass student").contains("a student's compass"), "what is typed goes before it");
    let (code, said) = desk.run("patterns show major-triad-up --key C --compass working --range G3-C5");
    assert!(code == 2 && said.contains("--range"), "{said}");
}

#[test]
fn an_instrument_that_is_half_typed_finds_its_likes() {
    let desk = Desk::new("tromp");
    let (code, said) = desk.run("coach --instrument tromp");
    assert!(code == 2 && said.contains("did you mean trumpet, trombone?"), "{said}");
}

#[test]
fn registers_that_fall_on_one_octave_are_said_to() {
    let desk = Desk::new("octave");
    let shown = |range: &str| desk.done(&format!("patterns show major-triad-up --key C --instrument flute {range}"));
    let one = shown("--range C4-D5");
    assert!(one.contains("any register C4 E4 G4 C5") && one.contains("in one octave only"), "{one}");
    let two = shown("--range C4-D6");
    assert!(two.contains("these fall on one octave") && two.contains("C5 E5 G5 C6"), "{two}");
    assert!(!shown("--range C4-C7").contains("one octave"), "three octaves, three registers");
    let (code, none) = desk.run("patterns show major-triad-up --key C --instrument flute --range D4-C5");
    let wanted = "in C the line goes from C4 to C5: no octave of it lies inside your range, D4 to C5\n  \
                  --range \"C4 C5\" takes it in";
    assert!(code == 2 && none.contains(wanted), "{none}");
    let (_, none) = desk.run("patterns show major-triad-up --key Db --instrument tenor-sax");
    assert!(none.contains("in Db the line goes from Db4 to Db5") && none.contains("--range \"Db4 C6\""), "{none}");
    let (_, none) = desk.run("patterns show major-triad-up --key C --instrument flute --range C7-D7");
    assert!(none.contains("C7 to C8: no octave of it lies inside your range, C7 to D7"), "{none}");
}

#[test]
fn what_a_pattern_does_beside_its_notes_is_shown() {
    let desk = Desk::new("fields");
    for (pattern, row) in [
        ("blues-call-three-times", "repeats      3 times in all"),
        ("ii-v-i-from-a-three-note-pick-up", "pick-up      1.5 beats before the first bar line"),
        ("half-steps-up-a-third-moved", "moves on     up by whole steps, 3 times in all"),
        ("ii-v-i-1-2-3-5-on-each", "eighths swing"),
    ] {
        let said = desk.done(&format!("patterns show {pattern}"));
        assert!(said.contains(row), "{row}\n{said}");
    }
}

#[test]
fn a_family_is_asked_for_by_the_word_that_is_shown() {
    let desk = Desk::new("family");
    let listed = |line: &[&str]| {
        let told = std::process::Command::new(env!("CARGO_BIN_EXE_earfirst"))
            .args(["patterns", "list", "--all", "--family"])
            .args(line)
            .env("EARFIRST_DATA", desk.0.join("data"))
            .output()
            .unwrap();
        (told.status.success(), String::from_utf8(told.stdout).unwrap())
    };
    for shown in ["stepwise", "half steps", "skips", "phrase"] {
        let (done, list) = listed(&[shown]);
        assert!(done && list.lines().count() > 40, "{shown}");
        assert!(list.lines().filter(|line| line.contains(" notes  ")).all(|line| line.contains(shown)), "{list}");
        let (_, json) = listed(&[shown, "--json"]);
        assert!(json.contains(&format!("\"family\":\"{shown}\"")), "{json:.300}");
        assert_eq!(listed(&[&shown.replace(' ', "-")]).1, list, "{shown}");
    }
    let help = desk.done("patterns list --help");
    assert!(
        ["stepwise", "half-steps", "skips", "phrase"].iter().all(|word| help.contains(&format!("- {word}:"))),
        "{help}"
    );
}

#[test]
fn every_pattern_that_the_books_name_is_in_the_library() {
    let mut looked_at = 0;
    for book in [include_str!("../../README.md"), include_str!("../../DEVELOPERS.md")] {
        let words: Vec<&str> = book.split([' ', '\n', '`']).filter(|word| !word.is_empty()).collect();
        let named = words.windows(3).filter(|w| w[0] == "patterns" && ["sound", "show", "export"].contains(&w[1]));
        for name in named.map(|w| w[2]).filter(|name| name.contains('-')) {
            // A pattern that is begun on another note is named after the original: `ORIGINAL-from-NOTE`.
            let first = name.rsplit_once("-from-").map_or(name, |(first, _)| first);
            let library = earfirst::outside::pattern::Library::builtin();
            assert!(library.find(name).or_else(|_| library.find(first)).is_ok(), "{name}");
            looked_at += 1;
        }
    }
    assert!(looked_at > 0, "one at least is looked at");
}

#[test]
fn a_file_in_a_folder_that_is_not_there_makes_no_folder() {
    let desk = Desk::new("folder");
    desk.done("patterns sound major-triad-up --key C --instrument flute --wav take.wav");
    for line in [
        "patterns export major-triad-up --instrument flute --midi musik/triad.mid",
        "patterns export major-triad-up --instrument flute --musicxml musik/triad.musicxml",
        "patterns learn take.wav --instrument flute --save musik/mine.toml",
        "patterns sound major-triad-up --key C --wav musik/triad.wav",
        "notes take.wav --midi musik/take.mid",
    ] {
        let (code, said) = desk.run(line);
        assert!(code == 4 && said.contains("musik"), "{line}: {code}\n{said}");
        assert!(!desk.0.join("musik").exists(), "{line} made a folder");
    }
}

#[test]
fn an_own_pattern_under_a_name_of_the_library_is_told_once() {
    let desk = Desk::new("hidden");
    let own = "[[pattern]]\nid = 'major-triad-up'\nname = 'mine'\nfamily = 'skips'\nlevel = 1\ntempo = [60, 90]\nnotes = '1 3 5'\n";
    std::fs::create_dir_all(desk.0.join("data/patterns")).unwrap();
    desk.file("data/patterns/own.toml", own.as_bytes());
    let said = desk.done("patterns show major-triad-up");
    assert!(said.contains("your own major-triad-up") && said.contains("in place of the library's"), "{said}");
    assert_eq!(said.matches("in place of").count(), 1);
    assert!(!desk.done("patterns show major-triad-down --concert").contains("your own major-triad-down"));
}

#[test]
fn rich_chords_are_read_as_musicians_write_them() {
    let desk = Desk::new("chords");
    for chord in ["C9#11", "C13(#11)", "G7b9#11", "E7(#9,b13)", "Fmaj13#11", "A-13"] {
        let said = desk.done(&format!("patterns list --chord {chord}"));
        assert!(said.contains("patterns"), "{said}");
    }
    let own = "[[pattern]]\nid = 'wide'\nname = 'wide'\nfamily = 'skips'\nlevel = 4\ntempo = [60, 90]\nover = ['13#11', '7#9b13']\nreads = 'chord tones'\nnotes = '1 3 7 9'\n";
    std::fs::create_dir_all(desk.0.join("data/patterns")).unwrap();
    desk.file("data/patterns/own.toml", own.as_bytes());
    let said = desk.done("patterns show wide-13-sharp11");
    assert!(said.contains("over 13#11: ") && said.contains("lydian dominant"), "{said}");
    assert!(desk.done("patterns show wide-7-sharp9b13").contains("altered"));
}

#[test]
fn a_range_that_no_such_instrument_has_is_refused() {
    let desk = Desk::new("reach");
    let (code, said) = desk.run("patterns show major-triad-up --key C --instrument trumpet --range C9-C10");
    assert!(code == 2 && said.contains("C9 to C10 is no range of the trumpet in Bb"), "{said}");
    // An octave above a professional's usual compass is rare, and some have it.
    desk.done("patterns show major-triad-up --key C --instrument trumpet --range G3-C7");
}

#[test]
fn a_recording_beside_a_list_of_notes_is_not_left_out_silently() {
    let desk = Desk::new("beside");
    for beside in ["--notes list.tsv", "--json-lines"] {
        let (code, said) = desk.run(&format!("grade take.wav --pattern major-triad-up --key C {beside}"));
        assert!(code == 2 && said.contains("cannot be used with"), "{said}");
    }
}

#[test]
fn arguments_that_contradict_each_other_are_not_taken_silently() {
    let desk = Desk::new("contradictory");
    for (typed, wanted) in [
        ("coach --keys C --known D", "D is known, but not among the keys that are asked"),
        ("coach --tempo 300 --goal 120", "quarter = 300 to begin with is beyond the goal, 120"),
        ("coach --goal 20", "nothing slower than quarter = 40"),
        ("demo --fast --plain --tempo 30", "nothing slower than quarter = 40"),
        ("demo --fast --plain --tempo fast", "a number is meant, such as 96 or 7.5"),
    ] {
        let (code, said) = desk.run(typed);
        assert!(code == 2 && said.contains(wanted), "{typed}: {said}");
    }
    // A first tempo beyond the usual goal is the goal of this sitting.
    assert!(desk.done("coach --tempo 200 --keys C major-triad-up").contains("quarter = "));
}

#[test]
fn a_level_that_no_pattern_can_have_is_refused() {
    let desk = Desk::new("level");
    for level in ["0", "6", "9"] {
        let (code, said) = desk.run(&format!("patterns list --level {level}"));
        assert!(code == 2 && said.contains("1..=5"), "{said}");
    }
    assert!(desk.done("patterns list --level 5").contains("patterns"));
}

#[test]
fn a_pipe_among_the_sittings_is_passed_over_and_named() {
    let desk = Desk::new("pipe");
    desk.done("demo --fast --seed 7 --answers 2");
    for name in ["x.zip", "y.jsonl"] {
        let pipe = desk.0.join("data/sessions").join(name);
        assert!(std::process::Command::new("mkfifo").arg(pipe).status().unwrap().success());
    }
    desk.done("coach");
    let said = desk.run("review data/sessions").1;
    for name in ["x.zip", "y.jsonl"] {
        assert!(said.lines().any(|row| row.contains(name) && row.contains("it is no plain file")), "{said}");
    }
}
