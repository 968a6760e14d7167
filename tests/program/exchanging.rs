//! Patterns taken out to MIDI and MusicXML and read back, and files of strangers.

use earfirst::outside::exchange::{
    ImportedVoice, Refused, Staff, StaffRequest, from_midi, from_musicxml, heard_to_midi, staff, to_midi, to_musicxml,
};
use earfirst::outside::music::{Concert, ConcertKey, Range, instrument};
use earfirst::outside::pattern::{Family, Library, Line, Pattern, PatternHeader, PatternId, Register, TempoRange};
use earfirst::outside::pattern::{from_line, realise, swing_at};
use earfirst::outside::units::{Decibels, Midi, Seconds, Tempo};

pub(super) fn all_keys(pattern: &Pattern, player: &str) -> Staff {
    let player = instrument(player).unwrap();
    let wish = StaffRequest {
        keys: ConcertKey::FIFTHS.to_vec(),
        range: player.advanced,
        register: Register::Middle,
        tempo: Tempo(120.0),
        signatures: true,
        g_flat: false,
    };
    let (staff, left_out) = staff(pattern, player, &wish);
    assert_eq!(staff.pieces.len() + left_out.len(), 12);
    staff
}

/// The pitch, place and length of every note that the file of a staff should hold, in quarters, with eighths swung long to short by
/// `ratio`. Each piece begins at the next bar line, and a pick-up fills the end of a bar of its own. Places count from the first bar
/// line, or from the first note where that note stands in the second half of its bar.
fn expected(staff: &Staff, ratio: f64) -> Vec<(i32, f64, f64)> {
    let mut start = 0.0;
    let mut notes = Vec::new();
    for piece in &staff.pieces {
        let note = |note: &earfirst::outside::exchange::StaffNote| earfirst::outside::pattern::ExpectedNote {
            pitch: note.concert,
            at: note.at.beats(),
            length: note.length.beats(),
            named: None,
        };
        let even = Line { notes: piece.notes.iter().map(note).collect(), length: piece.length.beats() };
        let pickup = piece.pickup.beats();
        let bar = piece.meter.bar().0;
        let lead = (bar - pickup.0) % bar;
        for note in even.swung(ratio, pickup).notes {
            notes.push((note.pitch.0, start + lead + note.at.0, note.length.0));
        }
        start += ((lead + piece.length.beats().0) / bar).ceil() * bar;
    }
    let lead = staff.pieces.first().map_or(0.0, |piece| {
        let bar = piece.meter.bar().0;
        (bar - piece.pickup.beats().0) % bar
    });
    let half = staff.pieces.first().map_or(2.0, |piece| piece.meter.bar().0 / 2.0);
    // What begins in the second half of its bar is a pick-up, and the line begins with it.
    let late = notes.first().filter(|note| note.1 >= half).map_or(lead, |note| note.1);
    notes.iter().map(|(pitch, at, length)| (*pitch, at - late, *length)).collect()
}

fn same(voice: &ImportedVoice, staff: &Staff, ratio: f64, tolerance: f64, what: &str) {
    let expected = expected(staff, ratio);
    assert_eq!(voice.line.notes.len(), expected.len(), "{what}");
    for (note, (pitch, at, length)) in voice.line.notes.iter().zip(expected) {
        assert_eq!(note.pitch.0, pitch, "{what} at {at}");
        assert!(
            (note.at.0 - at).abs() < tolerance && (note.length.0 - length).abs() < tolerance,
            "{what} at {at}: {note:?}"
        );
    }
}

#[test]
fn every_pattern_comes_back_from_midi_and_musicxml_as_it_went_out() {
    for (n, pattern) in Library::builtin().patterns().iter().enumerate() {
        let player = ["trumpet", "alto-sax", "guitar", "trombone", "tenor-voice", "horn"][n % 6];
        let staff = all_keys(pattern, player);
        if staff.pieces.is_empty() {
            continue;
        }
        // One tick of 480 to the quarter is the grain of the MIDI file.
        let midi = from_midi(&to_midi(&staff)).unwrap();
        let ratio = if pattern.swing { swing_at(staff.tempo) } else { 1.0 };
        same(&midi, &staff, ratio, 1.01 / 480.0, &pattern.id.0);
        assert_eq!(midi.title.as_deref(), Some(pattern.name.as_str()));
        assert!((midi.tempo.unwrap().0 - 120.0).abs() < 1e-6);
        let score = from_musicxml(&to_musicxml(&staff)).unwrap();
        same(&score, &staff, 1.0, 1e-6, &pattern.id.0);
        assert_eq!(score.swing, pattern.swing, "{}", pattern.id);
        assert_eq!([midi.meter, score.meter], [pattern.meter(); 2], "{}", pattern.id);
        assert_eq!((midi.sounding, score.sounding), (true, staff.transposition.0 != 0), "{player}");
        assert_eq!(score.title.as_deref(), Some(pattern.name.as_str()));
        assert_eq!(score.tempo, Some(Tempo(120.0)));
    }
}

#[test]
fn the_page_shows_written_pitch_and_says_how_it_sounds() {
    // Transpositions as MusicXML 4.0 counts them: letters and half steps within the octave, octaves apart.
    let pattern = Library::builtin().find("seventh-chord-up-dim7").unwrap();
    for (player, lines) in [
        ("trumpet", vec!["<diatonic>-1</diatonic>", "<chromatic>-2</chromatic>"]),
        (
            "baritone-sax",
            vec!["<diatonic>-5</diatonic>", "<chromatic>-9</chromatic>", "<octave-change>-1</octave-change>"],
        ),
        (
            "tenor-sax",
            vec!["<diatonic>-1</diatonic>", "<chromatic>-2</chromatic>", "<octave-change>-1</octave-change>"],
        ),
        ("guitar", vec!["<diatonic>0</diatonic>", "<chromatic>0</chromatic>", "<octave-change>-1</octave-change>"]),
        ("tenor-voice", vec!["<clef-octave-change>-1</clef-octave-change>"]),
        ("trombone", vec!["<sign>F</sign>"]),
    ] {
        let page = String::from_utf8(to_musicxml(&all_keys(pattern, player))).unwrap();
        for line in lines {
            assert!(page.contains(line), "{player}: {line}");
        }
        assert_eq!(page.contains("<transpose>"), !["tenor-voice", "trombone"].contains(&player), "{player}");
    }
    // Concert C diminished on a trumpet's page: D F Ab Cb (spelled by function).
    let trumpet = all_keys(pattern, "trumpet");
    let names: Vec<String> = trumpet.pieces[0].notes.iter().map(|note| note.written.name().to_string()).collect();
    assert_eq!(names.join(" "), "D F Ab Cb");
}

#[test]
fn a_standard_midi_file_begins_as_the_standard_says() {
    // Standard MIDI Files 1.0: "MThd", length 6, format 0, one track, division 480.
    let bytes = to_midi(&all_keys(Library::builtin().find("broken-triad").unwrap(), "flute"));
    assert_eq!(&bytes[..14], b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xe0");
    assert_eq!(&bytes[14..18], b"MTrk");
}

#[test]
fn files_of_strangers_are_refused_with_the_reason() {
    assert!(matches!(from_midi(b"hello"), Err(Refused::Damaged { .. })));
    assert!(matches!(from_midi(&[0; 3 << 20]), Err(Refused::TooLarge)));
    assert!(matches!(from_musicxml(b"PK\x03\x04"), Err(Refused::Damaged { .. })));
    assert!(matches!(from_musicxml(b"<html/>"), Err(Refused::Damaged { .. })));
    assert!(matches!(from_musicxml("<a>".repeat(1000).as_bytes()), Err(Refused::Damaged { .. })));
    let film = b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\xe7\x28MTrk\x00\x00\x00\x04\x00\xff\x2f\x00";
    assert_eq!(from_midi(film), Err(Refused::FilmTime));
    let silent = b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xe0MTrk\x00\x00\x00\x04\x00\xff\x2f\x00";
    assert_eq!(from_midi(silent), Err(Refused::Empty));
    let bomb = "<!DOCTYPE a [<!ENTITY b \"bbbbbbbbbb\"><!ENTITY c \"&b;&b;&b;&b;&b;&b;&b;&b;\">]><score-partwise><part id='P1'><measure>&c;</measure></part></score-partwise>";
    assert_eq!(from_musicxml(bomb.as_bytes()), Err(Refused::Empty));
    let note = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration></note>";
    let score =
        |inside: &str| format!("<score-partwise><part id='P1'><measure>{inside}</measure></part></score-partwise>");
    let together = note.replace("<pitch>", "<chord/><pitch>").replace(">4<", ">5<");
    assert_eq!(from_musicxml(score(&format!("{note}{together}")).as_bytes()), Err(Refused::Chord { beat: 0 }));
    assert_eq!(from_musicxml(score(&note.repeat(3000)).as_bytes()), Err(Refused::TooLong));
    assert_eq!(from_musicxml(score(note).as_bytes()).unwrap().line.notes[0].pitch, Concert(60));
}

#[test]
fn a_score_that_says_what_cannot_be_is_told_so_at_its_note() {
    // What may stand there: MusicXML 4.0 (octave 0 to 9, step A to G, positive divisions and durations).
    let note = |pitch: &str, duration: &str| format!("<note><pitch>{pitch}</pitch>{duration}</note>");
    let c4 = "<step>C</step><octave>4</octave>";
    let long = |duration: &str| format!("<duration>{duration}</duration>");
    let voice = |inside: &str| {
        let right = note(c4, &long("1"));
        let measure = |number: &str, inside: &str| format!("<measure number='{number}'>{inside}</measure>");
        let measures = format!("{}{}", measure("1", &right), measure("2b", &format!("{right}{inside}{right}")));
        from_musicxml(format!("<score-partwise><part id='P1'>{measures}</part></score-partwise>").as_bytes())
    };
    assert_eq!(voice(&note(c4, &long("2"))).unwrap().line.notes.len(), 4);
    for (inside, what, right) in [
        (note("<step>C</step><octave>2147483647</octave>", &long("1")), "octave is 2147483647", "0 to 9"),
        (note("<step>C</step><octave>four</octave>", &long("1")), "octave is four", "0 to 9"),
        (note("<step>C</step>", &long("1")), "octave is missing", "0 to 9"),
        (note("<step>H</step><octave>4</octave>", &long("1")), "step is H", "A to G"),
        (note("<step>Cis</step><octave>4</octave>", &long("1")), "step is Cis", "A to G"),
        (note("<octave>4</octave>", &long("1")), "step is missing", "A to G"),
        (note("<step>C</step><alter>99</alter><octave>4</octave>", &long("1")), "alter is 99", "-3 to 3"),
        (note("<step>C</step><alter>0.5</alter><octave>4</octave>", &long("1")), "alter is 0.5", "whole half steps"),
        (note(c4, &long("-5")), "duration is -5", "above 0"),
        (note(c4, &long("x")), "duration is x", "above 0"),
        (note(c4, &long("NaN")), "duration is NaN", "above 0"),
        (note(c4, &long("0")), "duration is 0", "above 0"),
        (note(c4, ""), "duration is 0 or missing", "above 0"),
        ("<note><duration>1</duration></note>".to_owned(), "step is missing", "a rest"),
    ] {
        let refused = voice(&inside).unwrap_err();
        let (said, mend) = (refused.to_string(), refused.mend());
        assert!(said.starts_with("measure 2b, note 2: ") && said.contains(what), "{inside}: {said}");
        assert!(mend.contains(right), "{inside}: {mend}");
    }
    for (inside, what) in [
        ("<attributes><divisions>0</divisions></attributes>", "measure 2b: divisions is 0"),
        ("<attributes><divisions>-1</divisions></attributes>", "measure 2b: divisions is -1"),
        ("<attributes><key><fifths>two</fifths></key></attributes>", "measure 2b: fifths is two"),
        ("<attributes><transpose><chromatic>99</chromatic></transpose></attributes>", "measure 2b: chromatic is 99"),
        ("<backup><duration>9</duration></backup>", "backup is too long"),
    ] {
        let said = voice(inside).unwrap_err().to_string();
        assert!(said.contains(what), "{inside}: {said}");
    }
    // What is not of the line may lack a length: grace notes are left out.
    let grace = "<note><grace/><pitch><step>C</step><octave>4</octave></pitch></note>";
    assert_eq!(voice(grace).unwrap().line.notes.len(), 3);
}

#[test]
fn what_was_heard_is_written_down_as_midi_at_its_times() {
    // 120 quarters a minute: a half second is a quarter note (Standard MIDI Files 1.0, set tempo 500 000).
    let note = |number: u32, onset: f64, pitch: f64| earfirst::outside::notes::HeardNote {
        number,
        onset: Seconds(onset),
        release: Seconds(onset + 0.25),
        pitch: Midi(pitch),
        spread: None,
        loudness: Decibels(-20.0),
        confidence: 1.0,
        announced: Seconds(onset),
        announced_pitch: Midi(pitch),
    };
    let voice = from_midi(&heard_to_midi(&[note(0, 1.0, 60.2), note(1, 1.5, 63.8)])).unwrap();
    assert_eq!(sound(&voice.line), [(Concert(60), 0.0, 0.5), (Concert(64), 1.0, 0.5)]);
    assert_eq!(voice.tempo, Some(Tempo(120.0)));
}

#[test]
fn a_file_that_was_cut_off_is_not_taken_for_a_shorter_line() {
    let staff = all_keys(Library::builtin().find("broken-triad").unwrap(), "flute");
    let (midi, score) = (to_midi(&staff), to_musicxml(&staff));
    assert!(from_midi(&midi).is_ok() && from_musicxml(&score).is_ok());
    // The header of 14 bytes and a shred of the first track: no track is there, but one was promised.
    for kept in [14, 17, 21] {
        let refused = from_midi(&midi[..kept]).unwrap_err();
        let (why, mend) = (refused.to_string(), refused.mend());
        assert!(why.contains("ends early") && mend.contains("anew"), "{kept} bytes: {why}; {mend}");
    }
    for kept in [3, 2] {
        let (midi, score) = (&midi[..midi.len() * kept / 4], &score[..score.len() * kept / 4]);
        assert!(matches!(from_midi(midi), Err(Refused::Damaged { .. })), "{kept} quarters of the MIDI file");
        assert!(matches!(from_musicxml(score), Err(Refused::Damaged { .. })), "{kept} quarters of the score");
    }
}

#[test]
fn no_bytes_make_a_reader_panic() {
    let staff = all_keys(Library::builtin().find("diatonic-seventh-chords-in-triplet-quarter").unwrap(), "trumpet");
    let (midi, score) = (to_midi(&staff), to_musicxml(&staff));
    arbtest::arbtest(|bytes| {
        let noise: Vec<u8> = bytes.arbitrary()?;
        let _ = (from_midi(&noise), from_musicxml(&noise));
        let (mut midi, mut score) = (midi.clone(), score[..3000].to_vec());
        for _ in 0..bytes.int_in_range(1..=8)? {
            let (one, other) = (bytes.choose_index(midi.len())?, bytes.choose_index(score.len())?);
            midi[one] = bytes.arbitrary()?;
            score[other] = *bytes.choose(b"<>/&0-9a\" ")?;
        }
        let _ = (from_midi(&midi), from_musicxml(&score));
        Ok(())
    });
}

#[test]
fn film_time_that_cannot_be_is_refused() {
    let mut bytes = b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x80\x28MTrk\x00\x00\x00\x04\x00\xff\x2f\x00".to_vec();
    assert!(matches!(from_midi(&bytes), Err(Refused::FilmTime)));
    bytes[12] = 0xe7;
    assert!(matches!(from_midi(&bytes), Err(Refused::FilmTime)), "25 frames a second (Standard MIDI File 1.0)");
}

pub(super) fn about(family: Family) -> PatternHeader {
    PatternHeader {
        id: PatternId("mine".into()),
        name: "mine".into(),
        family,
        level: 3,
        tempo: TempoRange { low: Tempo(60.0), high: Tempo(120.0) },
        over: Vec::new(),
        source: "my own playing".into(),
    }
}

/// What is heard of a line: which letter a note is written on is not.
fn sound(line: &Line) -> Vec<(Concert, f64, f64)> {
    line.notes.iter().map(|note| (note.pitch, note.at.0, note.length.0)).collect()
}

#[test]
fn a_line_written_down_as_a_pattern_sounds_the_same_and_can_be_saved() {
    let range = Range { low: Concert(0), high: Concert(127) };
    for pattern in Library::builtin().patterns() {
        let key = ConcertKey::FIFTHS[4];
        let line: Line = realise(pattern, key, None, range, Register::Middle).unwrap();
        let tonic = Concert(line.notes[0].pitch.0 - pattern.notes()[0].degree.half_steps);
        let mine = from_line(&line, tonic, about(pattern.family)).unwrap_or_else(|why| panic!("{}: {why}", pattern.id));
        let again = realise(&mine, key, None, range, Register::Middle).unwrap();
        assert_eq!((sound(&again), again.length), (sound(&line), line.length), "{}", pattern.id);
        let (again, troubles) =
            earfirst::outside::pattern::read(&earfirst::outside::pattern::print(&mine), "mine.toml");
        assert_eq!((again, troubles), (vec![mine], vec![]), "{}", pattern.id);
    }
}
