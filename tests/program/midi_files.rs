//! MIDI files that keyboards, pads or other programs wrote, and the notes that the program finds in them.
//!
//! The bytes follow Standard MIDI Files 1.0 and MIDI 1.0, from memory. By common practice are what pads write and that in some files the
//! last key never comes up.

use earfirst::outside::exchange::{Refused, from_midi};

use crate::desk::Desk;

/// The number of ticks in a quarter note.
pub const QUARTER: u32 = 480;
/// The velocity with which a message "key down" means that the key comes up.
const OFF: u8 = 0;

/// An event of a track, and the number of ticks between it and the event before.
pub type After<'a> = (u32, &'a [u8]);

fn file_of(format: u8, division: [u8; 2], tracks: &[&[After]]) -> Vec<u8> {
    let mut bytes = b"MThd\x00\x00\x00\x06\x00".to_vec();
    bytes.extend([format, 0, tracks.len() as u8, division[0], division[1]]);
    for track in tracks {
        let mut said = Vec::new();
        for (after, event) in track.iter().chain([&(0, &b"\xff\x2f\x00"[..])]) {
            said.extend([(after >> 7) as u8 | 0x80, (after & 127) as u8]);
            said.extend_from_slice(event);
        }
        bytes.extend(b"MTrk");
        bytes.extend((said.len() as u32).to_be_bytes());
        bytes.extend(said);
    }
    bytes
}

pub fn file(track: &[After]) -> Vec<u8> {
    file_of(0, (QUARTER as u16).to_be_bytes(), &[track])
}

/// What was said for machines, before whatever was said of it.
pub fn first_json(said: &str) -> serde_json::Value {
    let first = serde_json::Deserializer::from_str(said).into_iter().next();
    first.unwrap_or_else(|| panic!("{said}")).unwrap_or_else(|no| panic!("{no}: {said}"))
}

/// The note numbers and onsets that `earfirst notes` finds.
pub fn notes(desk: &Desk, track: &[After]) -> Vec<(i32, f64)> {
    desk.file("line.mid", &file(track));
    let said = first_json(&desk.done("notes line.mid --json"));
    let found = said["notes"].as_array().unwrap_or_else(|| panic!("{said}"));
    found
        .iter()
        .map(|note| (note["midi"].as_f64().unwrap().round() as i32, note["onset_s"].as_f64().unwrap()))
        .collect()
}

pub fn pitches(notes: &[(i32, f64)]) -> Vec<i32> {
    notes.iter().map(|note| note.0).collect()
}

/// The notes that `from_midi` finds: note number, place and length in quarters.
fn written(track: &[After]) -> Vec<(i32, f64, f64)> {
    let voice = from_midi(&file(track)).unwrap_or_else(|no| panic!("{no}"));
    voice.line.notes.iter().map(|note| (note.pitch.0, note.at.0, note.length.0)).collect()
}

#[test]
fn in_a_file_the_same_channel_and_the_same_note_of_a_chord_count_as_at_the_keys() {
    let desk = Desk::new("midi-settings");
    let chord: &[After] = &[
        (0, &[0x90, 84, 80]),
        (0, &[0xE1, 0, 60]),
        (0, &[0x91, 60, 80]),
        (5, &[0x91, 64, 80]),
        (5, &[0x91, 67, 80]),
        (QUARTER, &[0x91, 60, OFF]),
        (0, &[0x91, 64, OFF]),
        (0, &[0x91, 67, OFF]),
        (0, &[0x90, 84, OFF]),
    ];
    assert_eq!(pitches(&notes(&desk, chord)), [84], "of all channels the highest");
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    desk.file("data/settings.toml", b"[midi]\nchannel = 2\nchord = \"lowest\"\nbend = true\n");
    assert_eq!(pitches(&notes(&desk, chord)), [60]);
    // 60 of 64 the whole way down is .125 half steps flat, where the whole way is two.
    let bent = desk.done("notes line.mid --json");
    assert!(bent.contains("59.87"), "{bent}");
    // Pads speak on channel 10, where others have percussion.
    let pads: &[After] =
        &[(0, &[0x99, 60, 80]), (QUARTER, &[0x89, 60, 0]), (0, &[0x99, 62, 80]), (QUARTER, &[0x89, 62, 0])];
    desk.file("data/settings.toml", b"[midi]\nchannel = 10\n");
    assert_eq!(pitches(&notes(&desk, pads)), [60, 62]);
    desk.file("line.mid", &file(chord));
    desk.file("data/settings.toml", b"[midi]\nchannel = 5\n");
    let (code, said) = desk.run("notes line.mid");
    assert!(code == 4 && said.contains("on channel 5") && said.contains("midi.channel"), "{said}");
}

#[test]
fn all_notes_off_lets_the_keys_of_its_channel_go_as_at_a_port() {
    let desk = Desk::new("midi-all-off");
    for number in [120, 123, 124, 127] {
        // The higher key never comes up by itself. On another channel the message that all are up does not end its note; the note then
        // ends when the lower key goes down, and the program says so.
        let off = [0xB0, number, 0];
        let all_off: &[After] =
            &[(0, &[0x90, 72, 80]), (QUARTER, &off), (QUARTER, &[0x90, 60, 80]), (QUARTER, &[0x80, 60, 0])];
        assert_eq!(written(all_off), [(72, 0.0, 1.0), (60, 2.0, 1.0)], "{number}");
        assert_eq!(pitches(&notes(&desk, all_off)), [72, 60], "{number}");
        let other = [0xB1, number, 0];
        let elsewhere: &[After] =
            &[(0, &[0x90, 72, 80]), (QUARTER, &other), (QUARTER, &[0x90, 60, 80]), (QUARTER, &[0x80, 60, 0])];
        assert!(!desk.done("notes line.mid").contains("never let go"), "{number}");
        assert_eq!(pitches(&notes(&desk, elsewhere)), [72, 60], "{number} of another channel");
        assert!(desk.done("notes line.mid").contains("C5 is never let go: it ends with the next key"), "{number}");
    }
}

#[test]
fn a_bend_that_an_instrument_has_none_of_is_said_where_it_is_judged() {
    let desk = Desk::new("midi-unbent");
    std::fs::create_dir_all(desk.0.join("data")).unwrap();
    desk.file("data/settings.toml", b"[midi]\nbend = true\n");
    let row: Vec<(u32, [u8; 3])> = [60u8, 62, 64, 65, 67, 65, 64, 62, 60]
        .into_iter()
        .flat_map(|key| [(0, [0x90, key, 80]), (QUARTER / 2, [0x80, key, 0])])
        .collect();
    let bent: Vec<After> =
        [(0, &b"\xE0\x00\x50"[..])].into_iter().chain(row.iter().map(|(after, event)| (*after, &event[..]))).collect();
    desk.file("row.mid", &file(&bent[1..]));
    let grade = "grade row.mid --pattern five-note-row-up-and-down --key C --tempo 120 --instrument";
    let told = |instrument: &str| desk.run(&format!("{grade} {instrument}")).1;
    assert!(!told("piano").contains("nobody tunes"), "nothing bends: {}", told("piano"));
    desk.file("row.mid", &file(&bent));
    assert!(told("piano").contains("All nine right"), "{}", told("piano"));
    assert!(told("piano").contains("nobody tunes the piano: its intonation is not judged"), "{}", told("piano"));
    assert!(told("vibraphone").contains("nobody tunes the vibraphone"));
    assert!(!told("flute").contains("nobody tunes"));
    for line in ["drill five-note-row-up-and-down --plain", "trade blues"] {
        let (code, said) = desk.run(&format!("{line} --instrument marimba --input midi:nobody-has-this"));
        assert!(code == 3 && said.contains("nobody tunes the marimba"), "{line}: {said}");
    }
}

#[test]
fn one_note_is_no_pattern_and_what_hides_the_others_on_keys_is_said() {
    // A key is held above a line of three.
    let desk = Desk::new("midi-under");
    let under: &[After] = &[
        (0, &[0x90, 84, 80]),
        (QUARTER, &[0x90, 60, 80]),
        (QUARTER, &[0x80, 60, 0]),
        (0, &[0x90, 62, 80]),
        (QUARTER, &[0x80, 62, 0]),
        (0, &[0x90, 64, 80]),
        (QUARTER, &[0x80, 64, 0]),
        (0, &[0x80, 84, 0]),
    ];
    desk.file("line.mid", &file(under));
    for way in ["learn line.mid --instrument piano --print", "import line.mid --name under"] {
        let (code, said) = desk.run(&format!("patterns {way} --key C"));
        assert!(code == 2 && said.contains("it is one note, and a pattern has two or more"), "{way}: {said}");
        assert!(said.contains("several keys sound at once") && said.contains("let go of a note"), "{way}: {said}");
    }
}

#[test]
fn notes_that_follow_quicker_than_the_keys_of_a_chord_are_all_there() {
    // Sixty-fourths at quarter = 120 lie 31 ms apart.
    let desk = Desk::new("midi-quick");
    let row: Vec<[[u8; 3]; 2]> = (60..68).map(|key| [[0x90, key, 80], [0x80, key, 0]]).collect();
    let track: Vec<After> = row.iter().flat_map(|[down, up]| [(0, &down[..]), (30, &up[..])]).collect();
    let found = notes(&desk, &track);
    assert_eq!(pitches(&found), (60..68).collect::<Vec<_>>());
    assert!(found.windows(2).all(|pair| (pair[1].1 - pair[0].1 - 0.03125).abs() < 0.001), "{found:?}");
    // Struck together on pads, that let go at once: one is played.
    let pads: &[After] =
        &[(0, &[0x90, 60, 80]), (0, &[0x80, 60, 0]), (10, &[0x90, 67, 80]), (0, &[0x80, 67, 0]), (480, &[0x90, 60, 0])];
    assert_eq!(pitches(&notes(&desk, pads)), [67]);
}

#[test]
fn a_note_of_no_length_as_pads_write_it_is_a_note() {
    let desk = Desk::new("midi-pads");
    let row: Vec<[[u8; 3]; 2]> = [60, 62, 64, 65].into_iter().map(|key| [[0x90, key, 80], [0x80, key, 0]]).collect();
    let after = |n: usize| if n == 0 { 0 } else { QUARTER };
    let track: Vec<After> =
        row.iter().enumerate().flat_map(|(n, [down, up])| [(after(n), &down[..]), (0, &up[..])]).collect();
    assert_eq!(
        notes(&desk, &track).iter().map(|note| (note.0, (note.1 * 2.0).round())).collect::<Vec<_>>(),
        [(60, 0.0), (62, 1.0), (64, 2.0), (65, 3.0)]
    );
    assert_eq!(written(&track), [(60, 0.0, 0.25), (62, 1.0, 0.25), (64, 2.0, 0.25), (65, 3.0, 0.25)]);
}

#[test]
fn a_key_that_is_struck_anew_before_the_file_says_that_it_came_up_is_two_notes() {
    let again: &[After] = &[
        (0, &[0x90, 60, 80]),
        (QUARTER, &[0x90, 60, 80]),
        (0, &[0x80, 60, 0]),
        (QUARTER, &[0x80, 60, 0]),
        (0, &[0x90, 62, 80]),
        (QUARTER, &[0x80, 62, 0]),
    ];
    assert_eq!(written(again), [(60, 0.0, 1.0), (60, 1.0, 1.0), (62, 2.0, 1.0)]);
    assert_eq!(pitches(&notes(&Desk::new("midi-anew"), again)), [60, 60, 62]);
}

#[test]
fn a_key_whose_end_is_forgotten_sounds_to_the_next_note_or_to_the_end() {
    let last: &[After] =
        &[(0, &[0x90, 60, 80]), (QUARTER, &[0x80, 60, 0]), (0, &[0x90, 62, 80]), (QUARTER, &[0xB0, 7, 100])];
    assert_eq!(written(last), [(60, 0.0, 1.0), (62, 1.0, 1.0)]);
    let first: &[After] = &[(0, &[0x90, 60, 80]), (QUARTER, &[0x90, 62, 80]), (QUARTER, &[0x80, 62, 0])];
    assert_eq!(written(first), [(60, 0.0, 1.0), (62, 1.0, 1.0)]);
    let desk = Desk::new("midi-stuck");
    assert_eq!(pitches(&notes(&desk, last)), [60, 62]);
    let learnt = desk.done("patterns learn line.mid --print --key C --instrument piano");
    assert!(learnt.contains("1 2"), "{learnt}");
}

#[test]
fn what_cannot_be_read_says_what_to_do_in_the_words_of_its_trouble() {
    let note: &[After] = &[(0, &[0x90, 60, 80]), (QUARTER, &[0x80, 60, 0])];
    let mend = |bytes: &[u8]| from_midi(bytes).unwrap_err().mend();
    let pieces = file_of(2, [1, 0xE0], &[note, note]);
    assert_eq!(from_midi(&pieces), Err(Refused::Sequences));
    assert!(mend(&pieces).contains("format 0 or 1"));
    assert!(from_midi(&file_of(2, [1, 0xE0], &[note])).is_ok(), "one piece is one");
    assert!(mend(&file_of(0, [0xE7, 0x28], &[note])).contains("ticks to the quarter note"));
    assert!(mend(&file(&[])).contains("muted") && mend(&file(&[(0, &[0x99, 38, 80])])).contains("channel = 10"));
    assert_eq!(from_midi(&file(&[(0, &[0x99, 38, 80])])), Err(Refused::Drums));
    let desk = Desk::new("midi-refused");
    desk.file("drums.mid", &file(&[(0, &[0x99, 38, 80]), (QUARTER, &[0x89, 38, 0])]));
    for line in ["notes", "patterns learn --print", "analyse"] {
        let (code, said) = desk.run(&format!("{line} drums.mid"));
        assert!(
            code == 4 && said.contains("only drums sound in it") && said.contains("channel = 10"),
            "{line}: {said}"
        );
    }
    desk.file("pieces.mid", &pieces);
    desk.file("empty.mid", b"");
    for line in ["notes", "grade --pattern broken-triad --key C --instrument piano", "patterns learn --print"] {
        for (name, told) in [("pieces.mid", "several pieces"), ("empty.mid", "empty.mid: the file is empty")] {
            let (code, said) = desk.run(&format!("{line} {name}"));
            assert!(code == 4 && said.contains(told) && !said.contains("WAV"), "{line} {name}: {said}");
        }
    }
}

#[test]
fn a_tempo_of_nothing_is_none_and_one_that_halves_on_the_way_is_said() {
    let desk = Desk::new("midi-tempo");
    let timed = |quarter: [u8; 3]| {
        let tempo = [0xFF, 0x51, 3, quarter[0], quarter[1], quarter[2]];
        let mut track: Vec<(u32, Vec<u8>)> = Vec::new();
        for (n, key) in [60u8, 62, 64, 65, 67, 65, 64, 62, 60].into_iter().enumerate() {
            if n == 4 {
                track.push((0, tempo.to_vec()));
            }
            track.extend([(0, vec![0x90, key, 80]), (QUARTER / 2, vec![0x80, key, 0])]);
        }
        track
    };
    let nothing = timed([0, 0, 0]);
    let nothing: Vec<After> = nothing.iter().map(|(after, event)| (*after, &event[..])).collect();
    let found = notes(&desk, &nothing);
    assert!(found.len() == 9 && (found[8].1 - 2.0).abs() < 0.01, "{found:?}");
    let grade = "grade line.mid --pattern five-note-row-up-and-down --key C --instrument piano --tempo 120";
    let said = desk.done(grade);
    assert!(!said.contains("tempo changes") && said.contains("All nine right"), "{said}");
    // A quarter of a second to a whole one: 1,000,000 microseconds.
    let half = timed([0x0F, 0x42, 0x40]);
    let half: Vec<After> = half.iter().map(|(after, event)| (*after, &event[..])).collect();
    desk.file("line.mid", &file(&half));
    let (_, said) = desk.run(grade);
    assert!(said.contains("the tempo changes between the notes; they are taken as they sound"), "{said}");
}

#[test]
fn options_that_a_file_of_keys_does_not_need_are_said_to_change_nothing() {
    let desk = Desk::new("midi-options");
    desk.file("line.mid", &file(&[(0, &[0x90, 60, 80]), (QUARTER, &[0x80, 60, 0])]));
    assert!(desk.done("notes line.mid --a4 442").contains("--a4 changes nothing: a MIDI file holds keys"));
    assert!(desk.done("notes line.mid -i trumpet").contains("earfirst: --instrument changes nothing"));
    assert!(!desk.done("notes line.mid").contains("change nothing"));
    desk.done("patterns export five-note-row-up-and-down --keys Eb --instrument piano --midi row.mid");
    for line in [
        "analyse row.mid --instrument piano",
        "grade row.mid --pattern five-note-row-up-and-down --key Eb --instrument piano --tempo 72",
        "patterns learn row.mid --instrument piano --print",
    ] {
        assert!(desk.done(&format!("{line} --a4 442")).contains("--a4 changes nothing: row.mid holds notes"), "{line}");
        assert!(!desk.done(line).contains("changes nothing"), "{line}");
    }
    let said = desk.done("patterns learn row.mid --instrument piano --print --input midi");
    assert!(said.contains("--input changes nothing"), "{said}");
}

#[test]
fn a_file_without_sound_or_without_midi_says_what_it_is() {
    let desk = Desk::new("midi-named");
    desk.file("line.mid", &file(&[(0, &[0x90, 60, 80]), (QUARTER, &[0x80, 60, 0])]));
    let (code, said) = desk.run("hear --file line.mid");
    assert!(code == 4 && said.contains("holds notes, and no sound") && said.contains("earfirst notes"), "{said}");
    desk.file("letter.mid", b"Dear pianist, here is no music.");
    for line in ["hear --file", "notes", "analyse", "patterns learn --print", "patterns import --name new"] {
        let (code, said) = desk.run(&format!("{line} letter.mid"));
        assert!(code == 4 && said.contains("does not begin with MThd") && !said.contains("Ogg"), "{line}: {said}");
    }
    let (code, said) = desk.run("calibrate --input midi:stage");
    assert!(code == 2 && said.contains("needs no calibration") && said.contains("midi.delay_ms"), "{said}");
}

#[test]
fn what_is_wrong_in_a_damaged_file_is_told_with_its_byte_and_no_sweep_is_promised_without_a_device() {
    let desk = Desk::new("midi-damaged");
    // A message without a kind: the first of the track, whose bytes begin after 14 of the file's head and 8 of its own.
    desk.file("line.mid", &file(&[(0, &[64, 64]), (0, &[0x90, 60, 80]), (QUARTER, &[0x80, 60, 0])]));
    let (code, said) = desk.run("notes line.mid");
    assert!(
        code == 4 && said.contains("in track 1, at byte 25 of the file, 64 stands where a message begins"),
        "{said}"
    );
    assert!(!said.contains("ends early"), "{said}");
    let (code, said) = desk.run("calibrate --input nobody-has-this");
    assert!(code == 3 && !said.contains("sweeps") && !said.contains("earpiece"), "{said}");
}
