//! What a pianist's hands do in a file, and what is said of it: slips, octaves, chords that are let go early, several answers, drums.
//!
//! The bytes follow Standard MIDI Files 1.0 and MIDI 1.0, from memory. How hands play is common practice.

use crate::both_hands::{GRADE, keys, row, timed};
use crate::desk::Desk;
use crate::midi_files::{QUARTER, file, first_json};

/// What `grade` says of these keys, each from a tick to a tick.
fn graded(desk: &Desk, played: &[(u8, u32, u32)]) -> String {
    desk.file("line.mid", &keys(played));
    desk.run(GRADE).1
}

#[test]
fn an_upper_neighbour_that_is_brushed_is_no_note_and_is_named() {
    let desk = Desk::new("piano-brushed");
    // 42 ms, from 62 ms after the fifth note began: a half step above it and below it.
    for (key, name) in [(68, "Ab4"), (66, "F#4")] {
        let said = graded(&desk, &[row(), vec![(key, 960 + 60, 960 + 100)]].concat());
        assert!(said.contains("All nine right.") && !said.contains("too many"), "{said}");
        assert!(said.contains(&format!("line.mid: {name} at 1.06 s was brushed beside a note")), "{said}");
    }
}

#[test]
fn a_key_that_bounces_is_one_note_as_long_as_it_is_held_and_is_named() {
    let desk = Desk::new("piano-bounce");
    // The fourth key is up after 16 ms and down again 10 ms later, for the rest of its time.
    let played: Vec<_> = row().into_iter().filter(|(_, from, _)| *from != 720).collect();
    desk.file("line.mid", &keys(&[played, vec![(65, 720, 735), (65, 745, 935)]].concat()));
    let told = first_json(&desk.done("notes line.mid --json"));
    let fourth = &told["notes"][3];
    let length = fourth["release_s"].as_f64().unwrap() - fourth["onset_s"].as_f64().unwrap();
    assert!((length - 215.0 / 960.0).abs() < 0.01, "{told}");
    let remarks = told["remarks"].to_string();
    assert!(remarks.contains("F4 at 0.78 s was struck twice within .03 s and counted once"), "{told}");
}

#[test]
fn a_note_that_is_struck_again_before_it_ends_is_two_notes_and_no_slip() {
    let desk = Desk::new("piano-again");
    // The same key twice in a row: the first stroke ends 20 ticks into the second.
    desk.file(
        "line.mid",
        &timed(&[
            (0, [0x90, 60, 80]),
            (240, [0x90, 60, 80]),
            (260, [0x80, 60, 0]),
            (470, [0x80, 60, 0]),
            (480, [0x90, 62, 80]),
            (700, [0x80, 62, 0]),
        ]),
    );
    let told = first_json(&desk.done("notes line.mid --json"));
    let lasts: Vec<i64> = told["notes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|note| ((note["release_s"].as_f64().unwrap() - note["onset_s"].as_f64().unwrap()) * 960.0).round() as i64)
        .collect();
    assert_eq!(lasts, [240, 230, 220], "{told}");
    let remarks = told["remarks"].to_string();
    assert!(remarks.contains("C4 goes down again before") && !remarks.contains("brushed"), "{told}");
}

#[test]
fn two_hands_in_octaves_that_come_apart_are_one_answer() {
    let desk = Desk::new("piano-octaves");
    for late in [40, 60, 76] {
        let upper = row().into_iter().map(|(key, from, to)| (key + 12, from + late, to + late));
        let said = graded(&desk, &row().into_iter().chain(upper).collect::<Vec<_>>());
        assert!(said.contains("All nine right.") && said.contains("from C5"), "{late}: {said}");
        assert!(said.contains("line.mid: two hands play in octaves, not quite together"), "{late}: {said}");
    }
    // Most of the answer lies an octave lower than its first note.
    desk.file("line.mid", &keys(&[(60, 0, 220), (52, 240, 460), (55, 480, 700), (60, 720, 830), (60, 840, 930)]));
    let said = desk.run("grade line.mid --pattern major-triad-up --key C --tempo 120 --instrument piano").1;
    assert!(said.contains("from C3") && !said.contains("lower than asked"), "{said}");
}

#[test]
fn a_chord_that_is_held_over_half_of_the_row_is_left_out_as_one_that_is_held_to_the_end() {
    let desk = Desk::new("piano-half-chord");
    for chord in [&[36][..], &[36, 43], &[36, 40, 43]] {
        let later = row().into_iter().map(|(key, from, to)| (key, from + 480, to + 480));
        let held = chord.iter().map(|key| (*key, 0, 480 + 4 * 240));
        let said = graded(&desk, &held.chain(later).collect::<Vec<_>>());
        assert!(said.contains("All nine right.") && said.contains("judged without C2"), "{said}");
        assert!(said.contains("held over the 4 notes after"), "{said}");
    }
}

#[test]
fn of_a_file_that_holds_an_answer_in_every_key_the_one_in_the_key_asked_is_judged() {
    let desk = Desk::new("piano-keys");
    desk.done("patterns export five-note-row-up-and-down --instrument piano --midi line.mid");
    for key in ["C", "G", "Ab"] {
        let said = desk.done(&GRADE.replace("--key C", &format!("--key {key}")));
        let told =
            format!("12 answers stand in it, in several keys; the one in {key} is judged, and --key judges another");
        assert!(said.contains(&told) && said.contains("All nine right"), "{key}: {said}");
    }
    let twice = row().into_iter().chain(row().into_iter().map(|(key, from, to)| (key, from + 2880, to + 2880)));
    let said = graded(&desk, &twice.collect::<Vec<_>>());
    assert!(!said.contains("answers stand in it"), "twice in one key: {said}");
}

#[test]
fn drums_that_are_left_out_are_said_and_a_slower_pace_than_asked_too() {
    let desk = Desk::new("piano-drums");
    let mut track: Vec<(u32, [u8; 3])> = Vec::new();
    for key in [60, 62, 64, 65, 67, 65, 64, 62, 60] {
        track.extend([(0, [0x90, key, 80]), (0, [0x99, 42, 80]), (220, [0x99, 42, 0]), (80, [0x80, key, 0])]);
    }
    let track: Vec<(u32, &[u8])> = track.iter().map(|(after, event)| (*after, &event[..])).collect();
    desk.file("line.mid", &file(&track));
    let said = desk.done(GRADE);
    assert!(said.contains("line.mid: 9 notes on channel 10 left out, which is drums in most files"), "{said}");
    // Each note lasts 300 of 480 ticks at quarter = 120: eighths at 96.
    assert_eq!(QUARTER, 480);
    assert!(said.contains("All nine right; slower than asked, quarter = 96 where 120 was asked."), "{said}");
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    desk.file("data/settings.toml", b"[midi]\nchannel = 1\n");
    assert!(!desk.done(GRADE).contains("channel 10 left out"), "who chose a channel chose it");
}

#[test]
fn a_row_played_by_hand_into_a_file_is_learnt_in_eighths_and_the_tempo_is_said_to_be_a_guess() {
    let desk = Desk::new("piano-learn");
    // Eighths at quarter = 76, up to 15 ms off, in a file that says no tempo, so 120.
    let off = [0, 11, -14, 6, -9, 15, -4, 8, -12_i32];
    let played = row().into_iter().zip(off).zip(0_u32..);
    let played = played.map(|(((key, ..), off), n)| {
        let from = (n * 379).saturating_add_signed(off);
        (key, from, from + 320)
    });
    desk.file("line.mid", &keys(&played.collect::<Vec<_>>()));
    let guess = "tempo     taken from the notes alone, as nobody told it; --tempo settles it";
    let said = desk.done("patterns learn line.mid --instrument piano --name by-hand --save mine.toml");
    assert!(said.contains("in eighths at quarter = 7") && said.contains("notes = 1 2 3 4 5 4 3 2 1"), "{said}");
    assert!(said.contains(guess), "{said}");
    let said = desk.done("patterns learn line.mid --instrument piano --name told --tempo 76 --save mine.toml");
    assert!(said.contains("in eighths at quarter = 7") && !said.contains("tempo     "), "{said}");
}

/// A row of nine, played by hand in eighths at quarter = 84, each a few milliseconds off, the notes of one place of it as given: key, and from
/// and to which tick after the beat.
fn by_hand(place: usize, with: &[(u8, i32, i32)]) -> Vec<(u8, u32, u32)> {
    let off = [0, 9, -12, 6, -8, 12, -4, 7, -10];
    let notes = row().into_iter().zip(off).enumerate().flat_map(|(n, ((key, ..), off))| {
        let at = 400 + 343 * n as i32 + off;
        let plain = [(key, 0, 300)];
        let notes = if n == place { with } else { &plain[..] };
        notes.iter().map(|(key, from, to)| (*key, (at + from) as u32, (at + to) as u32)).collect::<Vec<_>>()
    });
    notes.collect()
}

#[test]
fn a_line_with_an_ornament_or_a_late_note_is_learnt_as_the_plain_line() {
    let desk = Desk::new("piano-learn-ornaments");
    let strokes: Vec<_> =
        (0..4).map(|n| (67 + 2 * (n % 2) as u8, 68 * n, 68 * n + 60)).chain([(67, 272, 310)]).collect();
    for (with, told) in [
        (&[(66, -58, -2), (67, 0, 300)][..], "a grace note before note 5 left out"),
        (&[(67, 0, 50), (69, 58, 110), (67, 116, 300)], "a mordent or turn on note 5 left out"),
        (&[(69, 0, 60), (67, 67, 125), (66, 134, 190), (67, 200, 300)], "a mordent or turn on note 5 left out"),
        (&strokes, "a mordent or turn on note 5 left out"),
        (&[(67, 120, 300)], "uneven: note 5 is 1"),
    ] {
        desk.file("line.mid", &keys(&by_hand(4, with)));
        for tempo in ["", " --tempo 84"] {
            let said = desk.done(&format!("patterns learn line.mid --instrument piano --name by-hand --print{tempo}"));
            assert!(said.contains("notes = \"1 2 3 4 5 4 3 2 1\""), "{with:?}{tempo}: {said}");
            let said =
                desk.done(&format!("patterns learn line.mid --instrument piano --name row --save mine.toml{tempo}"));
            std::fs::remove_file(desk.0.join("mine.toml")).unwrap();
            assert!(said.contains(told) && said.contains("in eighths at quarter = 8"), "{with:?}{tempo}: {said}");
        }
    }
}

#[test]
fn of_a_line_that_is_tried_twice_it_is_said_where_it_begins_anew() {
    let desk = Desk::new("piano-learn-twice");
    let first = by_hand(99, &[]);
    let again = first.iter().map(|(key, from, to)| (*key, from + 4700, to + 4700));
    desk.file("line.mid", &keys(&first.iter().copied().take(6).chain(again).collect::<Vec<_>>()));
    let said = desk.done("patterns learn line.mid --instrument piano --key C --name by-hand --save mine.toml");
    assert!(said.contains("after a silence note 7 begins it anew"), "{said}");
    assert!(said.contains("in eighths at quarter = 8") && said.contains(" 1 2 3 4 5 4 3 2 1"), "{said}");
}

#[test]
fn a_bass_that_is_held_under_a_line_is_left_out_of_what_is_learnt_and_imported_and_so_is_none_of_it() {
    let desk = Desk::new("piano-learn-bass");
    for bass in [36, 33] {
        let line = row().into_iter().map(|(key, from, to)| (key, from + 60, to + 60));
        desk.file("line.mid", &keys(&[(bass, 0, 2300)].into_iter().chain(line).collect::<Vec<_>>()));
        for way in ["learn line.mid --instrument piano --print", "import line.mid"] {
            let said = desk.done(&format!("patterns {way} --name row"));
            assert!(said.contains("notes = \"1 2 3 4 5 4 3 2 1\""), "{bass} {way}: {said}");
            assert!(said.contains("after it; the line is taken without it"), "{bass} {way}: {said}");
        }
    }
    // Fingers that play legato hold each key over the next one for .25 s.
    let legato: Vec<_> = row().into_iter().map(|(key, from, to)| (key, from, to + 260)).collect();
    desk.file("line.mid", &keys(&legato));
    let said = desk.done("patterns learn line.mid --instrument piano --print --name row");
    assert!(said.contains("notes = \"1 2 3 4 5 4 3 2 1"), "{said}");
    assert!(said.contains("the line is taken as if each were let go with the next"), "{said}");
}

#[test]
fn a_line_that_begins_off_the_beat_in_a_file_without_bars_keeps_its_rest() {
    let desk = Desk::new("piano-off-beat");
    let later = |ticks: u32| row().into_iter().map(move |(key, from, to)| (key, from + ticks, to + ticks));
    for (ticks, notes) in [(240, "\". 1 2 3 4"), (480, "\"1 2 3 4"), (720, "\". 1 2 3 4")] {
        desk.file("line.mid", &keys(&later(ticks).collect::<Vec<_>>()));
        let said = desk.done("patterns import line.mid --name row");
        assert!(said.contains(notes), "{ticks}: {said}");
    }
}

#[test]
fn a_stroke_of_a_bounce_a_trill_that_goes_on_and_the_try_that_is_judged_are_each_said_once() {
    let desk = Desk::new("piano-said-once");
    let bounce = graded(&desk, &by_hand(3, &[(65, -58, -20), (65, 0, 300)]));
    assert!(bounce.contains("struck twice: F4 at") && !bounce.contains("not counted"), "{bounce}");
    let strokes = (0..14).map(|n| (67 + 2 * (n % 2) as u8, 400 + 1372 + 80 * n, 400 + 1372 + 80 * n + 74));
    let before = by_hand(99, &[]).into_iter().take(4);
    let after = by_hand(99, &[]).into_iter().skip(5).map(|(key, from, to)| (key, from + 800, to + 800));
    let trill = graded(&desk, &before.chain(strokes).chain(after).collect::<Vec<_>>());
    assert!(trill.contains("you went on with the fifth note, G, for ") && !trill.contains("stood still"), "{trill}");
    assert!(trill.contains("ornament: A4 at") && !trill.contains("not counted"), "{trill}");
    let first = by_hand(99, &[]);
    let broke_off = first.iter().take(5).map(|(key, from, to)| (*key, from + 4000, to + 4000));
    let twice = graded(&desk, &first.iter().copied().chain(broke_off).collect::<Vec<_>>());
    assert!(
        twice.contains("the first attempt is judged, which was right; what came after it is not counted"),
        "{twice}"
    );
    assert!(twice.contains("All nine right") && !twice.contains("too many"), "{twice}");
}
