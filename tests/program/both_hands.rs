//! Files of two hands, of a split keyboard, and of keys that are brushed or held over others.
//!
//! The bytes follow Standard MIDI Files 1.0 and MIDI 1.0, from memory. How hands play is common practice.

use crate::desk::Desk;
use crate::midi_files::{After, QUARTER, file, first_json, notes, pitches};

/// A melody of C E G E C in quarters, and on channel 2 a bass that is struck under its held notes.
fn two_hands() -> Vec<u8> {
    let mut said: Vec<(u32, Vec<u8>)> = Vec::new();
    for (n, key) in [72u8, 76, 79, 76, 72].into_iter().enumerate() {
        let at = QUARTER * n as u32;
        // Each note of the melody is held into the next for 31 ms at quarter = 120. The bass comes on the half beat and holds to the next
        // beat.
        let over = if n < 4 { 30 } else { 0 };
        said.extend([(at, vec![0x90, key, 80]), (at + QUARTER + over, vec![0x80, key, 0])]);
        said.extend([(at + QUARTER / 2, vec![0x91, 48, 60]), (at + QUARTER, vec![0x81, 48, 0])]);
        said.extend([(at + QUARTER / 2 + 3, vec![0x91, 55, 60]), (at + QUARTER, vec![0x81, 55, 0])]);
    }
    said.sort_by_key(|(at, _)| *at);
    timed(&said)
}

/// A file of events at their ticks, in order.
pub fn timed<E: AsRef<[u8]>>(said: &[(u32, E)]) -> Vec<u8> {
    let mut before = 0;
    let mut track: Vec<(u32, &[u8])> = Vec::new();
    for (at, event) in said {
        track.push((at - before, event.as_ref()));
        before = *at;
    }
    file(&track)
}

#[test]
fn of_a_file_for_two_hands_the_chosen_line_is_heard_learned_and_imported() {
    let desk = Desk::new("midi-hands");
    desk.file("hands.mid", &two_hands());
    let heard = |desk: &Desk| {
        let said = first_json(&desk.done("notes hands.mid --json"));
        said["notes"].as_array().unwrap().iter().map(|note| note["midi"].as_f64().unwrap() as i32).collect::<Vec<_>>()
    };
    assert_eq!(heard(&desk), [72, 76, 79, 76, 72], "the upper hand, legato");
    for way in ["learn hands.mid --instrument piano --print", "import hands.mid --name arch"] {
        let said = desk.done(&format!("patterns {way} --key C"));
        assert!(said.contains("notes = \"1 3 5 3 1\""), "{way}: {said}");
        assert!(said.contains("several keys sound at once; the highest counts (midi.chord"), "{way}: {said}");
    }
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    desk.file("data/settings.toml", b"[midi]\nchannel = 2\nchord = \"lowest\"\n");
    assert_eq!(heard(&desk), [48; 5]);
    for (way, line) in [
        ("learn hands.mid --instrument piano --print", "\"1 1 1 1 1\""),
        // It comes off the beat, in a file that states no bars.
        ("import hands.mid --name bass", "\". 1 . 1 . 1 . 1 . 1\""),
    ] {
        let said = desk.done(&format!("patterns {way} --key C"));
        assert!(said.contains(line) && said.contains("the lowest counts"), "{way}: {said}");
    }
    desk.file("data/settings.toml", b"[midi]\nchannel = 1\n");
    for way in ["learn hands.mid --instrument piano --print", "import hands.mid --name arch"] {
        let said = desk.done(&format!("patterns {way} --key C"));
        assert!(said.contains("notes = \"1 3 5 3 1\"") && !said.contains("several keys"), "{way}: {said}");
        let told = "MIDI channel 1 is heard (midi.channel in your settings), and channel 2 plays too";
        assert!(said.contains(told), "{way}: {said}");
    }
    desk.file("data/settings.toml", b"[midi]\nchannel = 5\n");
    for way in ["learn hands.mid --instrument piano --print", "import hands.mid --name none"] {
        let (code, said) = desk.run(&format!("patterns {way} --key C"));
        assert!(code == 4 && said.contains("on channel 5") && said.contains("midi.channel"), "{way}: {said}");
    }
}

#[test]
fn where_several_keys_sound_at_once_it_is_said_once_by_whoever_reads_the_file() {
    let desk = Desk::new("midi-several");
    desk.file("hands.mid", &two_hands());
    let grade = "grade hands.mid --pattern broken-triad --key C --instrument piano --tempo 120";
    for line in ["notes hands.mid", grade, "analyse hands.mid --instrument piano"] {
        let (_, said) = desk.run(line);
        let channels =
            "hands.mid: MIDI channels 1 and 2 play, and are heard as one line; where each hand has a channel";
        assert_eq!(said.matches(channels).count(), 1, "{line}: {said}");
        let told = "hands.mid: several keys sound at once; the highest counts (midi.chord in your settings)";
        assert_eq!(said.matches(told).count(), 1, "{line}: {said}");
    }
    // A key that is brushed is no second key, and legato leaves nothing out.
    let line: &[After] = &[
        (0, &[0x90, 72, 80]),
        (QUARTER, &[0x90, 71, 80]),
        (5, &[0x90, 69, 20]),
        (5, &[0x80, 69, 0]),
        (80, &[0x80, 72, 0]),
        (QUARTER, &[0x80, 71, 0]),
    ];
    desk.file("line.mid", &file(line));
    assert_eq!(pitches(&notes(&desk, line)), [72, 71]);
    let said = desk.done("notes line.mid");
    assert!(!said.contains("several keys") && !said.contains("MIDI channel"), "{said}");
    assert!(said.contains("was brushed beside a note and left out"), "{said}");
}

/// Keys from a tick to a tick, as a file.
pub fn keys(played: &[(u8, u32, u32)]) -> Vec<u8> {
    let mut said: Vec<(u32, [u8; 3])> =
        played.iter().flat_map(|&(key, from, to)| [(from, [0x90, key, 80]), (to, [0x90, key, 0])]).collect();
    said.sort_by_key(|(at, event)| (*at, event[2]));
    timed(&said)
}

/// The row of five notes up and down in eighths at quarter = 120, from middle C.
pub fn row() -> Vec<(u8, u32, u32)> {
    let row = [60, 62, 64, 65, 67, 65, 64, 62, 60];
    (0..).map(|n| n * QUARTER / 2).zip(row).map(|(at, key)| (key, at, at + QUARTER / 2 - 20)).collect()
}

#[test]
fn a_file_without_notes_and_a_damaged_one_are_not_said_to_hold_notes_where_a_sound_is_checked() {
    let desk = Desk::new("midi-no-sound");
    desk.file("line.mid", &keys(&row()));
    let refused = |line: &str| desk.run(line).1;
    assert!(refused("hear --file line.mid").contains("it holds notes, and no sound that could be checked"));
    desk.file("none.mid", &keys(&[]));
    let said = refused("hear --file none.mid");
    assert!(!said.contains("it holds notes") && said.contains("none.mid"), "{said}");
    let whole = keys(&row());
    desk.file("cut.mid", &whole[..whole.len() - 20]);
    let said = refused("hear --file cut.mid");
    assert!(!said.contains("it holds notes") && said.contains("not a readable MIDI file"), "{said}");
}

pub const GRADE: &str = "grade line.mid --pattern five-note-row-up-and-down --key C --tempo 120 --instrument piano";

#[test]
fn of_a_split_keyboard_the_half_that_was_chosen_is_read_and_the_rest_is_counted() {
    let desk = Desk::new("midi-split");
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    // The left hand plays in the gaps too, where it would be heard as the line.
    let left = (0..9).map(|n| (36 + n, u32::from(n) * 240 + 222, u32::from(n) * 240 + 238));
    desk.file("line.mid", &keys(&row().into_iter().chain(left).collect::<Vec<_>>()));
    let (_, said) = desk.run(GRADE);
    assert!(!said.contains("All nine right."), "{said}");
    desk.file("data/settings.toml", b"[midi]\nkeys = \"C4-C8\"\n");
    for line in [GRADE, "notes line.mid", "patterns import line.mid --name row --key C"] {
        let said = desk.done(line);
        assert!(
            said.contains("line.mid: 9 notes on keys beyond those of midi.keys in your settings left out"),
            "{line}: {said}"
        );
    }
    let said = desk.done(GRADE);
    assert!(said.contains("All nine right.") && !said.contains("several keys"), "{said}");
    desk.file("data/settings.toml", b"[midi]\nkeys = \"C7-C8\"\n");
    let (code, said) = desk.run(GRADE);
    let told =
        "no note sounds in it on the keys C7-C8\n  midi.keys = \"C7-C8\" stands in your settings: leave it out there";
    assert!(code == 4 && said.contains(told), "{said}");
    desk.file("data/settings.toml", b"[midi]\nkeys = \"C3\"\n");
    let (code, said) = desk.run("notes line.mid");
    assert!(
        code == 4 && said.contains("line 2: midi.keys = \"C3\" is no lowest and highest key, such as \"C3-C8\""),
        "{said}"
    );
}

#[test]
fn a_key_that_is_brushed_beside_a_right_note_is_said_though_it_changes_nothing() {
    let desk = Desk::new("midi-brushed");
    // 21 ms with the third note, a half step below it; 52 ms within the fifth; 21 ms just before the seventh, above it.
    let brushed = [(63, 475, 495), (66, 1060, 1110), (66, 1425, 1445)];
    desk.file("line.mid", &keys(&row().into_iter().chain(brushed).collect::<Vec<_>>()));
    let said = desk.done(GRADE);
    assert!(said.contains("All nine right."), "{said}");
    let named = "line.mid: Eb4 at 0.49 s, F#4 at 1.10 s and F#4 at 1.48 s were brushed beside a note and left out";
    assert!(said.contains(named), "{said}");
    // One that ends before the next note begins is a note of its own, which the verdict takes for none.
    let alone = [(66, 462, 478)];
    desk.file("line.mid", &keys(&row().into_iter().chain(alone).collect::<Vec<_>>()));
    let said = desk.done(GRADE);
    assert!(
        said.contains("All nine right.") && said.contains("not counted: F#4 at 0.48 s, 0.02 s until the next note"),
        "{said}"
    );
    desk.file("line.mid", &keys(&row()));
    let said = desk.done(GRADE);
    assert!(!said.contains("brushed") && !said.contains("not counted"), "{said}");
}

#[test]
fn a_key_that_is_held_over_the_others_is_named_and_the_others_are_judged() {
    let desk = Desk::new("midi-held");
    // The top of the row is held to the end.
    let top: Vec<_> =
        row().into_iter().map(|(key, from, to)| (key, from, if key == 67 { 9 * 240 } else { to })).collect();
    desk.file("line.mid", &keys(&top));
    let said = desk.done(GRADE);
    assert!(said.contains("All nine right."), "{said}");
    assert!(said.contains("line.mid: G4 is held over the 4 notes after it, and hides them"), "{said}");
    assert!(said.contains("judged as if each were let go with the next"), "{said}");
    let said = desk.done("notes line.mid");
    assert!(said.contains("G4 is held over the 4 notes after it"), "{said}");
    // A pedal note that was struck before, above the row or below it.
    for (pedal, name) in [(84, "C6"), (36, "C2")] {
        let later = row().into_iter().map(|(key, from, to)| (key, from + 480, to + 480));
        desk.file("line.mid", &keys(&[(pedal, 0, 480 + 9 * 240)].into_iter().chain(later).collect::<Vec<_>>()));
        let said = desk.done(GRADE);
        assert!(said.contains("All nine right."), "{said}");
        assert!(said.contains(&format!("line.mid: the answer is judged without {name}")), "{said}");
        assert_eq!(said.matches("is held over").count(), 1, "{said}");
    }
    // A chord of the left hand that was struck before.
    for chord in [&[36, 43][..], &[36, 40, 43], &[36, 43, 48, 52]] {
        let later = row().into_iter().map(|(key, from, to)| (key, from + 480, to + 480));
        let held = chord.iter().map(|key| (*key, 0, 480 + 9 * 240));
        desk.file("line.mid", &keys(&held.chain(later).collect::<Vec<_>>()));
        let said = desk.done(GRADE);
        assert!(said.contains("All nine right."), "{said}");
        assert!(said.contains("are held over the 9 notes after them, and count as a note before them"), "{said}");
        assert!(said.contains("line.mid: the answer is judged without C2"), "{said}");
    }
    let said = desk.done("patterns learn line.mid --instrument piano --key C --print");
    assert!(said.contains("C2, G2, C3 and E3 are held over the 9 notes"), "{said}");
    // A left hand that goes on under the last note of the row is still no part of it.
    let mut two: Vec<_> = row();
    two[8].2 = 8 * 240 + 960;
    two.extend([48, 52, 55, 52].into_iter().zip(0..).map(|(key, n)| (key, 2100 + 120 * n, 2200 + 120 * n)));
    desk.file("line.mid", &keys(&two));
    let said = desk.done(GRADE);
    assert!(said.contains("All nine right.") && !said.contains("judged"), "{said}");
}

#[test]
fn of_a_falling_line_whose_keys_overlap_each_is_said_to_be_held_over_the_next() {
    let desk = Desk::new("midi-overlap");
    // Each key is held for .22 s over the next, and is up before the one after that.
    let row: Vec<_> = row().into_iter().map(|(key, from, _)| (key, from, from + 240 + 216)).collect();
    desk.file("line.mid", &keys(&row));
    let told = "line.mid: from G4 on, each of 4 keys is held over the next for .2 s or more, and hides it";
    for line in ["notes line.mid", GRADE] {
        let said = desk.done(line);
        assert!(said.contains(told) && !said.contains("held over 4 others"), "{line}: {said}");
    }
}

#[test]
fn a_bass_that_is_held_from_before_the_line_is_named_by_whoever_reads_the_file_as_on_its_page() {
    let desk = Desk::new("midi-bass");
    let later = row().into_iter().map(|(key, from, to)| (key, from + 480, to + 480));
    desk.file("line.mid", &keys(&[(46, 0, 480 + 9 * 240)].into_iter().chain(later).collect::<Vec<_>>()));
    let counts = "is held over the 9 notes after it, and counts as a note before them";
    let left_out = "is held over the 9 notes after it; the line is taken without it";
    for (line, name, what) in [
        ("notes line.mid", "Bb2", counts),
        ("notes line.mid -i trumpet", "Bb2", counts),
        ("analyse line.mid --instrument piano", "Bb2", counts),
        ("patterns learn line.mid --instrument piano --key C --print", "Bb2", left_out),
        // A trumpet in Bb reads a whole step above what sounds.
        ("patterns learn line.mid --instrument trumpet --key D --print", "C3", left_out),
    ] {
        let said = desk.done(line);
        assert!(said.contains(&format!("line.mid: {name} {what}")), "{line}: {said}");
    }
    let said = desk.done(&GRADE.replace("piano", "trumpet").replace("--key C", "--key D"));
    assert!(said.contains(&format!("C3 {counts}")) && said.contains("judged without C3"), "{said}");
    assert!(!said.contains("Bb2"), "one page, one name: {said}");
    // What is said of it stands in what machines read too.
    let told = first_json(&desk.done(&format!("{GRADE} --json")));
    let remarks = told["remarks"].as_array().unwrap();
    assert!(remarks.iter().any(|said| said.as_str().unwrap().contains("judged without Bb2")), "{told}");
    let told = first_json(&desk.done("analyse line.mid --instrument piano --json"));
    assert!(told["remarks"][0].as_str().unwrap().contains(counts), "{told}");
}

#[test]
fn a_left_hand_in_the_gaps_of_the_right_is_told_once_with_the_setting_that_leaves_it_out() {
    let desk = Desk::new("midi-gaps");
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    let left = [48, 55, 48, 55].into_iter().zip(0..).map(|(key, n)| (key, 120 + 480 * n, 360 + 480 * n));
    desk.file("line.mid", &keys(&row().into_iter().chain(left).collect::<Vec<_>>()));
    let told = "where these are two hands, keys = \"C4-C8\" in [midi] of your settings hears the upper one alone";
    for line in ["notes line.mid", GRADE, "analyse line.mid --instrument piano"] {
        let (_, said) = desk.run(line);
        assert_eq!(said.matches(told).count(), 1, "{line}: {said}");
    }
    // A left hand so near that no leap shows it: whoever knows what was asked knows it all the same.
    let near = (0..4).map(|n| (55, 120 + 480 * n, 230 + 480 * n));
    let right = row().into_iter().map(|(key, from, _)| (key, from, from + 110));
    desk.file("line.mid", &keys(&right.chain(near).collect::<Vec<_>>()));
    let (_, said) = desk.run(GRADE);
    assert_eq!(said.matches(told).count(), 1, "{said}");
    desk.file("data/settings.toml", b"[midi]\nkeys = \"C4-C8\"\n");
    let said = desk.done(GRADE);
    assert!(said.contains("All nine right.") && !said.contains("two hands"), "{said}");
}

#[test]
fn a_note_with_a_short_trill_is_right_and_what_is_left_of_the_trill_says_how_long_it_sounded() {
    let desk = Desk::new("midi-trill");
    let plain = row().into_iter().filter(|(key, ..)| *key != 67);
    let trill = [(67, 960, 1018), (69, 1018, 1075), (67, 1075, 1180)];
    desk.file("line.mid", &keys(&plain.chain(trill).collect::<Vec<_>>()));
    let said = desk.done(GRADE);
    assert!(said.contains("All nine right.") && !said.contains("late") && !said.contains("too many"), "{said}");
    assert!(said.contains("ornament: A4 at 1.06 s, 0.06 s until the next note"), "{said}");
}
