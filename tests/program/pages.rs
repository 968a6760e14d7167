//! Pages and files as others read them: accidentals, chords, signatures, swing, pick-ups, compressed scores.

use std::collections::BTreeMap;
use std::io::{Cursor, Write};
use std::process::Command;

use earfirst::outside::exchange::{
    Refused, Staff, StaffRequest, from_midi, from_musicxml, staff, to_midi, to_musicxml,
};
use earfirst::outside::music::{Concert, ConcertKey, PitchName, Range, instrument};
use earfirst::outside::pattern::{
    ExpectedNote, Family, Library, Line, Pattern, Register, Ticks, Unwritable, from_line,
};
use earfirst::outside::units::{Beats, Tempo};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use crate::exchanging::{about, all_keys};

/// A pattern alone in one key, so that what comes back is one pattern again.
fn one_key(pattern: &Pattern, key: ConcertKey, player: &str) -> Option<Staff> {
    let player = instrument(player).unwrap();
    let wish = StaffRequest {
        keys: vec![key],
        range: Range { low: Concert(0), high: Concert(127) },
        register: Register::Middle,
        tempo: Tempo(120.0),
        signatures: true,
        g_flat: false,
    };
    Some(staff(pattern, player, &wish).0).filter(|staff| !staff.pieces.is_empty())
}

#[test]
fn a_pattern_taken_out_and_in_again_keeps_its_rests_its_pick_up_and_its_swing() {
    for (n, pattern) in Library::builtin().patterns().iter().enumerate() {
        let (key, player) = (ConcertKey::FIFTHS[n % 12], ["trumpet", "alto-sax", "cello"][n % 3]);
        let Some(staff) = one_key(pattern, key, player) else { continue };
        let triplets = pattern.notes().iter().any(|step| step.at.0 * 6 % Ticks::QUARTER != 0);
        for (voice, what) in
            [(from_midi(&to_midi(&staff)).unwrap(), "MIDI"), (from_musicxml(&to_musicxml(&staff)).unwrap(), "MusicXML")]
        {
            let voice = voice.evened();
            let first = pattern.notes()[0];
            let late = first.at.0 as f64 / Ticks::QUARTER as f64;
            if late < 2.0 {
                assert_eq!(voice.pickup, pattern.pickup(), "{} as {what}", pattern.id);
                // Off-beats alone are swung in the file, and nothing in it shows that they are.
                let (at, from) = (voice.line.notes[0].at.0, late);
                assert!(
                    voice.swing != pattern.swing || (at - from).abs() < 1e-6,
                    "{} as {what}: {at} {from}",
                    pattern.id
                );
            }
            // A score says in words that it swings. In a MIDI file the notes show it, where two beats hold a long and a short note. There a
            // pattern of long and short thirds of a beat by turns is taken for swung eighths, because it sounds like them.
            let thirds = pattern.notes().iter().any(|step| step.at.0 * 4 % Ticks::QUARTER != 0);
            if !thirds && (what == "MusicXML" || !pattern.swing) {
                assert_eq!(voice.swing, pattern.swing, "{} as {what}", pattern.id);
            }
            if voice.swing == pattern.swing && !triplets {
                for (note, step) in voice.line.notes.iter().zip(pattern.notes()) {
                    assert!((note.at.0 - step.at.beats().0).abs() < 5e-3, "{} as {what}: {note:?}", pattern.id);
                }
            }
        }
    }
    // What swings shows where a beat holds a long and a short note, twice at least; off-beats alone may be triplets.
    let shows = |pattern: &&Pattern| {
        let pickup = Ticks::nearest(pattern.pickup()).0;
        let at: Vec<i64> = pattern.notes().iter().map(|step| step.at.0 - pickup).collect();
        let pair = |three: &&[i64]| {
            three[0] % Ticks::QUARTER == 0
                && 2 * (three[1] - three[0]) == Ticks::QUARTER
                && three[2] - three[0] == Ticks::QUARTER
        };
        at.windows(3).filter(pair).count() >= 2
    };
    let swinging = Library::builtin().patterns().iter().filter(|pattern| pattern.swing).filter(shows);
    let kept = swinging.clone().filter(|pattern| {
        let staff = one_key(pattern, ConcertKey::FIFTHS[0], "flute").unwrap();
        from_midi(&to_midi(&staff)).unwrap().evened().swing
    });
    let (kept, all) = (kept.count(), swinging.count());
    assert!(kept * 10 >= all * 9, "swing came back from MIDI for {kept} of {all}");
}

#[test]
fn the_midi_file_names_the_sounding_key_and_the_sound_of_the_instrument() {
    // In Standard MIDI Files 1.0 a key signature is FF 59 02 sf mi, and a program change is Cn pp, with programs counted from 0. General
    // MIDI level 1, which counts from 1, has the trumpet at 57, the alto saxophone at 66, the tuba at 59. All from memory.
    let has = |bytes: &[u8], wanted: &[u8]| bytes.windows(wanted.len()).any(|part| part == wanted);
    let triad = Library::builtin().find("major-triad-up").unwrap();
    let minor = Library::builtin().find("minor-triad-up").unwrap();
    let concert = |name: &str| ConcertKey(name.parse::<PitchName>().unwrap().class());
    for (pattern, key, player, program, signature) in [
        (triad, "Eb", "trumpet", 56, [0xfd, 0]),
        (triad, "C", "alto-sax", 65, [0, 0]),
        (triad, "B", "trumpet", 56, [5, 0]),
        (minor, "C", "tuba", 58, [0xfd, 1]),
    ] {
        let bytes = to_midi(&one_key(pattern, concert(key), player).unwrap());
        assert!(has(&bytes, &[0xff, 0x59, 2, signature[0], signature[1]]), "{key} on {player}");
        assert!(has(&bytes, &[0xc0, program]), "{player}");
        let tonic = from_midi(&bytes).unwrap().key;
        assert_eq!(tonic, (signature[0] != 0).then(|| concert(key)), "{key} on {player}");
    }
}

#[test]
fn the_page_carries_accidentals_chords_and_the_mode_that_is_meant() {
    // The altered scale on C stands under the four flats of F minor, because a dominant with altered ninths belongs to the minor key a
    // fifth below. There its flat fourth and flat fifth, on F and G, need a flat of their own (rules of notation).
    let altered = Library::builtin().find("altered-scale-up").unwrap();
    let page = String::from_utf8(to_musicxml(&one_key(altered, ConcertKey::FIFTHS[0], "flute").unwrap())).unwrap();
    for said in
        ["<fifths>-4</fifths>", "<mode>phrygian</mode>", "<words>C7alt</words>", "<accidental>flat</accidental>"]
    {
        assert!(page.contains(said), "{said}\n{page}");
    }
    assert!(page.contains("<kind text=\"7alt\">dominant</kind>") && !page.contains("C major"));
    let notes = |page: &str| page.matches("<note>").count();
    for pattern in Library::builtin().patterns() {
        let staff = one_key(pattern, ConcertKey::FIFTHS[3], "flute").unwrap();
        let page = String::from_utf8(to_musicxml(&staff)).unwrap();
        assert_eq!(page.matches("<harmony>").count(), staff.pieces[0].chords.len(), "{}", pattern.id);
        assert!(notes(&page) >= pattern.notes().len(), "{}", pattern.id);
        // The page read as a player reads it, by signature, bar and ties alone, has the pitches that were meant.
        assert_eq!(read_as_printed(&page), written_in(&page), "{}", pattern.id);
    }
}

/// What stands between two tags, wherever they stand in a text.
fn between<'t>(text: &'t str, tag: &str) -> Option<&'t str> {
    let (open, close) = (format!("<{tag}>"), format!("</{tag}>"));
    let from = text.find(&open)? + open.len();
    Some(&text[from..from + text[from..].find(&close)?])
}

/// Half steps by which every note is altered, as the file says in so many words.
fn written_in(page: &str) -> Vec<i32> {
    let notes = page.split("<note>").skip(1).filter(|note| note.contains("<pitch>"));
    notes.map(|note| between(note, "alter").map_or(0, |alter| alter.parse().unwrap())).collect()
}

/// The same from what is printed: signature, accidentals, ties.
fn read_as_printed(page: &str) -> Vec<i32> {
    let (mut signature, mut tied, mut read) = (0, 0, Vec::new());
    for bar in page.split("<measure ").skip(1) {
        signature = between(bar, "fifths").map_or(signature, |fifths| fifths.parse::<i32>().unwrap());
        let mut holds = BTreeMap::new();
        for note in bar.split("<note>").skip(1).filter(|note| note.contains("<pitch>")) {
            let (step, octave) = (between(note, "step").unwrap(), between(note, "octave").unwrap());
            let sharp = "FCGDAEB".find(step).unwrap() as i32;
            let usual = i32::from(signature > sharp) - i32::from(-signature > 6 - sharp);
            let accidental = between(note, "accidental").map(|sign| match sign {
                "sharp" => 1,
                "flat" => -1,
                "natural" => 0,
                "double-sharp" => 2,
                "flat-flat" => -2,
                other => panic!("{other}"),
            });
            let place = (step.to_owned(), octave.to_owned());
            let before = holds.get(&place).copied().unwrap_or(usual);
            let alter = match accidental {
                Some(alter) => {
                    assert_ne!(alter, before, "a courtesy accidental: {note}");
                    holds.insert(place, alter);
                    alter
                }
                None if note.contains("<tied type=\"stop\"/>") => tied,
                None => before,
            };
            tied = alter;
            read.push(alter);
        }
    }
    read
}

/// A zip file with these entries.
fn zipped(entries: &[(&str, &[u8])], method: CompressionMethod) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in entries {
        archive.start_file(*name, SimpleFileOptions::default().compression_method(method)).unwrap();
        archive.write_all(bytes).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

#[test]
fn a_compressed_score_is_read_as_the_score_in_it() {
    // MusicXML 4.0, "Compressed .mxl files": META-INF/container.xml names the score.
    let score = to_musicxml(&all_keys(Library::builtin().find("broken-triad").unwrap(), "trumpet"));
    let container = br#"<?xml version="1.0"?><container><rootfiles><rootfile full-path="cover.pdf" media-type="application/pdf"/><rootfile full-path="line.musicxml" media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>"#;
    let right = [("META-INF/container.xml", &container[..]), ("line.musicxml", &score[..])];
    for method in [CompressionMethod::Stored, CompressionMethod::Deflated] {
        assert_eq!(from_musicxml(&zipped(&right, method)), from_musicxml(&score));
    }
    let deflated = CompressionMethod::Deflated;
    for wrong in
        [vec![], vec![right[0]], vec![right[1]], vec![("META-INF/container.xml", &b"<container/>"[..]), right[1]]]
    {
        let refused = from_musicxml(&zipped(&wrong, deflated)).unwrap_err();
        assert!(matches!(refused, Refused::Damaged { kind: "compressed MusicXML", .. }), "{refused}");
    }
    let bomb = vec![b' '; 64 << 20];
    let refused = from_musicxml(&zipped(&[right[0], ("line.musicxml", &bomb)], deflated));
    assert_eq!(refused, Err(Refused::TooLarge));
    let inside = zipped(&right, deflated);
    assert!(from_musicxml(&zipped(&[right[0], ("line.musicxml", &inside)], deflated)).is_err());
    let whole = zipped(&right, deflated);
    arbtest::arbtest(|bytes| {
        let mut damaged = whole.clone();
        for _ in 0..bytes.int_in_range(1..=6)? {
            let at = bytes.choose_index(damaged.len())?;
            damaged[at] = bytes.arbitrary()?;
        }
        let _ = from_musicxml(&damaged);
        Ok(())
    });
}

#[test]
fn a_line_that_is_no_pattern_is_refused_with_the_limit() {
    let note = |n: usize, pitch: i32, length: f64| ExpectedNote {
        pitch: Concert(pitch),
        at: Beats(n as f64 * length),
        length: Beats(length),
        named: None,
    };
    let line = |count: usize, length: f64| Line {
        notes: (0..count).map(|n| note(n, 60 + (n % 5) as i32, length)).collect(),
        length: Beats(count as f64 * length),
    };
    let why = |line: &Line| from_line(line, Concert(60), about(Family::Stepwise)).map_err(|why| why.to_string());
    assert_eq!(why(&line(700, 0.5)).unwrap_err(), "700 notes: the limit is 512");
    assert!(why(&line(512, 0.5)).is_ok());
    let said = why(&line(300, 8.0)).unwrap_err();
    assert!(said.contains("at most 512 signs") && said.contains("600 bars"), "{said}");
    let mut wide = line(5, 0.5);
    wide.notes[3].pitch.0 += 60;
    assert_eq!(
        from_line(&wide, Concert(60), about(Family::Skips)).unwrap_err(),
        Unwritable::Wide { note: 4, above: 2 }
    );
}

/// Reads pages with music21 and says where it differs from us: schema of notes, accidentals, chords, keys.
const READER: &str = r#"
import json, sys, music21 as m
wrong = 0
notes = chords = skipped = 0
for line in open(sys.argv[1] + "/pages.jsonl"):
    page = json.loads(line)
    part = m.converter.parse(page["file"], forceSource=True).parts[0]
    sounding = part.toSoundingPitch()
    plain = lambda part: [n for n in part.recurse().notes if isinstance(n, m.note.Note) and (n.tie is None or n.tie.type == "start")]
    pitches = [n.pitch.midi for n in plain(sounding)]
    names = [[c.root().pitchClass, sorted({p.pitchClass for p in c.pitches})] for c in sounding.recurse().getElementsByClass("ChordSymbol")]
    key = part.recurse().getElementsByClass("Key")[0]
    if pitches != page["pitches"]: print(page["file"], "pitches", pitches, page["pitches"]); wrong += 1
    for read, meant in zip(names, page["chords"], strict=True):
        chords += 1
        if read[0] != meant[0] or (meant[1] and read[1] != meant[1]): print(page["file"], "chord", read, meant); wrong += 1
    if key.tonic.pitchClass != page["tonic"]: print(page["file"], "key", key, page["tonic"]); wrong += 1
    ours = [n.pitch.accidental is not None and n.pitch.accidental.displayStatus is True for n in part.recurse().notes if isinstance(n, m.note.Note)]
    for chord in list(part.recurse().getElementsByClass("ChordSymbol")): part.remove(chord, recurse=True)
    ties, theirs, others = set(), [], []
    for bar in part.getElementsByClass("Measure"):
        inside = [n for n in bar.notes if isinstance(n, m.note.Note)]
        # The reader takes an accidental for every octave, where the rule takes its own: those notes are left to the rule.
        others += [any(b.step == n.step and b.octave != n.octave for b in inside[:at]) for at, n in enumerate(inside)]
        for n in inside:
            if n.pitch.accidental is not None: n.pitch.accidental.displayStatus = None
        if sum(n.quarterLength for n in bar.notesAndRests) != 4: print(page["file"], "bar", bar.number); wrong += 1
        bar.makeAccidentals(inPlace=True, useKeySignature=bar.keySignature or key, overrideStatus=True, cautionaryPitchClass=False,
                            cautionaryAll=False, cautionaryNotImmediateRepeat=False, tiePitchSet=ties)
        theirs += [n.pitch.accidental is not None and bool(n.pitch.accidental.displayStatus) for n in inside]
        ties = {n.pitch.nameWithOctave for n in inside[-1:] if n.tie is not None and n.tie.type != "stop"}
    notes += len(ours)
    apart = [n for n, (a, b, other) in enumerate(zip(ours, theirs, others, strict=True)) if a != b and not other]
    if apart: print(page["file"], "accidentals", apart); wrong += 1
    skipped += sum(others)
print(notes, "notes,", skipped, "of them in a second octave,", chords, "chords,", wrong, "wrong")
sys.exit(1 if wrong or not notes else 0)
"#;

/// With `EARFIRST_LONGER` and where python3 has music21 (an independent reader): every pattern on a page of its own.
#[test]
fn an_independent_reader_finds_on_the_page_what_was_meant() {
    let there =
        || Command::new("python3").args(["-c", "import music21"]).output().is_ok_and(|run| run.status.success());
    if std::env::var_os("EARFIRST_LONGER").is_none() || !there() {
        return;
    }
    let folder = std::env::temp_dir().join(format!("earfirst-pages-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let players = ["trumpet", "alto-sax", "horn", "cello", "baritone-sax", "guitar"];
    let mut rows = String::new();
    for (n, pattern) in Library::builtin().patterns().iter().enumerate() {
        let staff = one_key(pattern, ConcertKey::FIFTHS[n % 12], players[n % 6]).unwrap();
        let (piece, file) = (&staff.pieces[0], folder.join(format!("{n}.musicxml")));
        std::fs::write(&file, to_musicxml(&staff)).unwrap();
        let chords = piece.chords.iter().map(|chord| {
            let root = chord.root.class().get() + staff.transposition.0;
            let mut tones: Vec<i32> =
                chord.quality.tones().iter().map(|tone| (root + tone.half_steps).rem_euclid(12)).collect();
            tones.sort_unstable();
            tones.dedup();
            // Where the symbol has all, a reader of kinds and degrees knows less than who reads it.
            let whole =
                ["maj", "m", "7", "m7", "maj7", "m7b5", "dim7", "7b9", "6", "m6", "mMaj7", "9", "7#9", "maj7#5"];
            let tones = if whole.contains(&chord.quality.name()) { tones } else { Vec::new() };
            serde_json::json!([root.rem_euclid(12), tones])
        });
        let row = serde_json::json!({
            "file": file, "pitches": piece.notes.iter().map(|note| note.concert.0).collect::<Vec<_>>(),
            "chords": chords.collect::<Vec<_>>(), "tonic": piece.key.tonic.class().get(),
        });
        rows.push_str(&format!("{row}\n"));
    }
    std::fs::write(folder.join("pages.jsonl"), rows).unwrap();
    let run = Command::new("python3").args(["-c", READER]).arg(&folder).output().unwrap();
    let said = String::from_utf8_lossy(&run.stdout);
    println!("{said}");
    assert!(run.status.success(), "{said}{}", String::from_utf8_lossy(&run.stderr));
    std::fs::remove_dir_all(&folder).unwrap();
}
