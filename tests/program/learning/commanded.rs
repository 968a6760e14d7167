//! `patterns learn` and `patterns import` from outside: what they say, what they keep, and files of strangers.

use std::path::{Path, PathBuf};

use earfirst::outside::pattern::{self, Pattern, print_notes};

use crate::desk::Desk;

const OWN: &str = "data/patterns/own.toml";

#[test]
fn a_line_from_a_recording_is_shown_kept_and_can_be_practised() {
    let desk = Desk::new("recording");
    desk.done("patterns sound seventh-chord-up-m7 --key D --instrument trumpet --tempo 120 --wav take.wav");
    let said = desk.done("patterns learn take.wav --instrument trumpet --name rise");
    // The trumpet's written D, as it stands on the page; degrees, half steps and chord tones of a minor seventh.
    for row in [
        "root      D: as in \"seventh chord up, m7\" of the library",
        "family    skips: 3 of its 3 moves are skips",
        "level     3, second year on: two flats and three skips",
        "  on my page   D4   F4   A4   C5",
        "  degree        1   b3    5   b7",
        "  half steps    0    3    7   10",
        "  of m7         1    3    5    7",
        "kept as rise in",
    ] {
        assert!(said.contains(row), "{row}\n{said}");
    }
    assert!(said.contains("in eighths at quarter = 120"), "{said}");
    let kept = desk.kept(OWN);
    assert_eq!((kept.len(), print_notes(&kept[0].notation.tokens).as_str()), (1, "1 b3 5 b7"));
    assert!(desk.done("patterns show rise --key Eb --instrument trumpet").contains("Eb4 Gb4 Bb4 Db5"));
    // A second one stands beside it, under the next free name.
    desk.done("patterns learn take.wav --instrument trumpet --key F --note 4=6 --tempo 60");
    let kept = desk.kept(OWN);
    assert_eq!((kept.len(), kept[1].id.0.as_str()), (2, "my-line-1"));
    assert_eq!(print_notes(&kept[1].notation.tokens), "6, 1 3 6");
    let (code, said) = desk.run("patterns learn take.wav --name rise");
    assert!(code == 2 && said.contains("there is already a pattern") && said.contains("another name"), "{said}");
}

#[test]
fn a_swung_line_is_learnt_as_eighths_that_swing() {
    let desk = Desk::new("swing");
    // At quarter = 108 it swings two to one; on the page stand eighths.
    desk.done("patterns sound ii-v-i-1-2-3-5-on-each --key C --instrument flute --tempo 108 --wav swing.wav");
    for told in ["guessed", "told --tempo 108"] {
        let line = format!("patterns learn swing.wav --instrument flute --key C --save mine.toml --name {told}");
        let said = desk.done(&line);
        assert!(said.contains("in swung eighths at quarter = 108"), "{said}");
        assert!(said.contains("is taken as meant"), "the tolerance is told: {said}");
    }
    let kept = desk.kept("mine.toml");
    let library = pattern::Library::builtin().find("ii-v-i-1-2-3-5-on-each").unwrap();
    let heights = |pattern: &Pattern| -> Vec<(i32, i64)> {
        pattern.notes().iter().map(|step| (step.degree.half_steps, step.at.0)).collect()
    };
    for own in &kept {
        assert_eq!((own.swing, heights(own)), (true, heights(library)));
    }
    assert_eq!(kept.len(), 2);
    let said = desk.done("patterns learn swing.wav --instrument flute --key C --straight --print --tempo 108");
    assert!(!said.contains("swing = true") && said.contains("triplet"), "{said}");
}

#[test]
fn in_a_script_a_root_that_nobody_can_know_is_asked_for_by_its_option() {
    let desk = Desk::new("root");
    desk.done("patterns sound surround-the-third --key C --instrument flute --tempo 120 --wav turn.wav");
    let (code, said) = desk.run("patterns learn turn.wav --instrument flute --print");
    assert!(code == 2 && said.contains("the root cannot be known") && said.contains("--key"), "{said}");
    assert!(!desk.0.join(OWN).exists());
    let text = desk.done("patterns learn turn.wav --instrument flute --key C --print --note 2=. --name turn");
    assert!(text.contains("notes = \"5 . 4\"") && text.contains("id = \"turn\""), "{text}");
    let taken = "patterns learn turn.wav --instrument flute --key C --print --name surround-the-third";
    assert!(desk.done(taken).contains("id = \"surround-the-third\""), "it takes nobody's place");
    assert!(!desk.0.join(OWN).exists(), "what is printed is not kept");
    for (option, why) in [("3=h", "puts no note right"), ("9=1", "there is no note 9"), ("1=-", "none before it")] {
        let (code, said) =
            desk.run(&format!("patterns learn turn.wav --instrument flute --key C --print --note {option}"));
        assert!(code == 2 && said.contains(why) && said.contains("3=b7"), "{said}");
    }
}

#[test]
fn our_own_midi_is_learnt_and_imported_note_for_note() {
    let desk = Desk::new("midi");
    for id in
        ["groups-of-three-up-triplets", "ii-v-i-1-2-3-5-on-each", "crawl-two-up-one-back", "seventh-chord-up-dim7"]
    {
        desk.done(&format!("patterns export {id} --keys Eb --instrument flute --midi {id}.mid"));
        for way in ["learn", "import"] {
            let print = if way == "learn" { "--print --instrument flute " } else { "" };
            let text = desk.done(&format!("patterns {way} {id}.mid {print}--key Eb --name copy"));
            let (copy, _) = pattern::read(&text, id);
            let library = pattern::Library::builtin().find(id).unwrap();
            let heights = |pattern: &Pattern| -> Vec<(i32, i64)> {
                let first = pattern.notes()[0].degree.half_steps;
                pattern.notes().iter().map(|step| (step.degree.half_steps - first, step.at.0)).collect()
            };
            assert_eq!(heights(&copy[0]), heights(library), "{id} by {way}");
        }
    }
}

#[test]
fn groups_of_five_seven_and_nine_come_back_from_a_file_as_they_were_written() {
    let desk = Desk::new("groups");
    std::fs::create_dir_all(desk.0.join("data/patterns")).unwrap();
    for (name, notes) in [
        ("five", "[1 2 3 4 5] 4 [3 2 1 2 3] 5"),
        ("seven", "[1 2 3 4 5 6 7] 8 7 6"),
        ("nine", "[1 2 3 4 5 6 7 8 9] 8 7 6"),
        ("three-and-five", "[1 2 3] [4 5 4 3 2] 1 -"),
        ("five-and-seven", "[1 2 3 4 5] [6 5 4 3 2 1 7,] 1"),
        ("rest-in-five", "[1 . 3 4 5] 8 5"),
    ] {
        desk.file(
            "data/patterns/groups.toml",
            format!(
                "[[pattern]]\nid = \"{name}\"\nname = \"{name}\"\nfamily = \"stepwise\"\nlevel = 3\ntempo = [60, 90]\nunit = \"quarter\"\nnotes = \"{notes}\"\n"
            )
            .as_bytes(),
        );
        desk.done(&format!(
            "patterns export {name} --keys C --concert --instrument flute --midi {name}.mid --musicxml {name}.musicxml"
        ));
        for line in ["learn {}.mid --print --concert --instrument flute", "import {}.mid", "import {}.musicxml"] {
            let text = desk.done(&format!("patterns {} --key C --name copy", line.replace("{}", name)));
            assert!(text.contains(&format!("notes = \"{notes}\"")), "{line} {name}\n{text}");
        }
        let said = desk.done(&format!(
            "patterns learn {name}.mid --key C --concert --instrument flute --name copy --save copy-{name}.toml"
        ));
        assert!(said.contains("as the file has it"), "{said}");
    }
}

#[test]
fn files_of_strangers_meet_limits_and_clear_errors() {
    let desk = Desk::new("strangers");
    let midi = |division: [u8; 2], track: &[u8]| {
        let mut bytes = b"MThd\x00\x00\x00\x06\x00\x00\x00\x01".to_vec();
        bytes.extend(division);
        bytes.extend(b"MTrk");
        bytes.extend((track.len() as u32).to_be_bytes());
        bytes.extend(track);
        bytes
    };
    let silent = midi([1, 0xe0], b"\x00\xff\x2f\x00");
    let wide =
        midi([1, 0xe0], b"\x00\x90\x00\x50\x83\x60\x80\x00\x00\x00\x90\x7f\x50\x83\x60\x80\x7f\x00\x00\xff\x2f\x00");
    let mut long = b"MThd".to_vec();
    long.resize(3 << 20, 0);
    let mut riff = b"RIFF\x04\x00\x00\x00RMID".to_vec();
    riff.extend([0xff; 40]);
    let files: Vec<(&str, Vec<u8>, &str)> = vec![
        ("empty.wav", Vec::new(), ""),
        ("noise.wav", (0..5000_u32).map(|n| (n * n / 7) as u8).collect(), ""),
        ("headless.wav", b"RIFF\xff\xff\xff\xffWAVEfmt ".to_vec(), ""),
        ("cut.flac", std::fs::read(sound("a4-two-sides.flac")).unwrap()[..60].to_vec(), ""),
        ("silent.mid", silent, "no note sounds"),
        ("no.mid", b"this is a letter, and no music at all".to_vec(), "does not begin with MThd"),
        ("wide.mid", wide, "too wide"),
        ("cut.mid", b"MThd\x00\x00".to_vec(), "not a readable MIDI file"),
        ("film.mid", midi([0xe7, 0x28], b"\x00\xff\x2f\x00"), "film frames"),
        ("long.mid", long, "larger than 2 MiB"),
        ("riff.mid", riff, "not a readable MIDI file"),
        ("score.mxl", b"PK\x03\x04".to_vec(), "not a readable compressed MusicXML file"),
        ("page.xml", b"<html></html>".to_vec(), "not a readable MusicXML file"),
        ("deep.xml", "<a>".repeat(100_000).into_bytes(), "too deep"),
    ];
    for (name, bytes, why) in files {
        desk.file(name, &bytes);
        for way in ["learn", "import"] {
            let (code, said) = desk.run(&format!("patterns {way} {name} --key C --name new"));
            assert!([2, 4].contains(&code) && said.starts_with("earfirst: "), "{way} {name}: {code}\n{said}");
            assert!(said.contains(why) && said.lines().count() >= 2, "no reason or no way out: {way} {name}\n{said}");
            assert!(!said.contains("panicked"), "{way} {name}\n{said}");
        }
    }
    for (line, why) in [
        ("patterns learn missing.wav", "missing.wav"),
        ("patterns learn data --key C", "data"),
        ("patterns import missing.mid --name new", "missing.mid"),
    ] {
        let (code, said) = desk.run(line);
        assert!(code == 4 && said.contains(why), "{line}: {code}\n{said}");
    }
    assert!(!desk.0.join(OWN).exists(), "nothing of it was kept");
}

fn sound(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/sounds").join(name)
}
