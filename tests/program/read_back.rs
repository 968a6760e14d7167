//! Exported files, compared with what independent readers found in them: music21 in the MusicXML, mido in the MIDI. The head of
//! `data/read-back.tsv` names the versions of the readers and says how the script works. Here generic readers of XML and MIDI read the same
//! bytes.

use std::collections::BTreeMap;
use std::path::Path;

use earfirst::outside::exchange::{Staff, StaffRequest, staff, to_midi, to_musicxml};
use earfirst::outside::music::{ConcertKey, Spelled, instrument};
use earfirst::outside::pattern::{Cycle, Library, Register};
use earfirst::outside::units::Tempo;
use midly::{MidiMessage, Smf, Timing, TrackEventKind};
use quick_xml::Reader;
use quick_xml::events::Event;

/// A note as it was read: its written name (from a score only), its sounding pitch, and its place in quarter notes.
#[derive(Debug, Clone, PartialEq)]
struct Read {
    written: Option<String>,
    sounding: i32,
    at: f64,
}

/// Reads MusicXML 4.0 by the elements `pitch`, `duration`, `tie`, `divisions` and `transpose` alone.
fn score(bytes: &[u8]) -> Vec<Read> {
    let text = std::str::from_utf8(bytes).unwrap();
    let mut reader = Reader::from_str(text);
    let (mut now, mut notes) = (0.0, Vec::new());
    let mut said: BTreeMap<String, String> = BTreeMap::new();
    let (mut element, mut tied) = (String::new(), false);
    loop {
        match reader.read_event().unwrap() {
            Event::Start(start) => {
                element = start.local_name().as_ref().to_owned();
                if element == "note" {
                    tied = false;
                    said.retain(|name, _| !["step", "alter", "octave"].contains(&name.as_str()));
                }
            }
            Event::Empty(empty) if empty.local_name().as_ref() == "tie" => {
                let kind = empty.try_get_attribute("type").unwrap().unwrap();
                tied |= kind.value.as_ref() == "stop";
            }
            Event::Text(text) => {
                said.insert(element.clone(), text.xml10_content().to_string());
            }
            Event::End(end) if end.local_name().as_ref() == "note" => {
                let number = |name: &str| said.get(name).map_or(0, |text| text.parse::<i32>().unwrap());
                if let Some(step) = said.get("step").filter(|_| !tied) {
                    let sign =
                        if number("alter") < 0 { "b" } else { "#" }.repeat(number("alter").unsigned_abs() as usize);
                    let written = format!("{step}{sign}{}", number("octave"));
                    let up = number("chromatic") + 12 * number("octave-change");
                    let sounding = written.parse::<Spelled>().unwrap().midi() + up;
                    notes.push(Read { written: Some(written), sounding, at: now });
                }
                now += f64::from(number("duration")) / f64::from(number("divisions"));
            }
            Event::End(_) => element.clear(),
            Event::Eof => return notes,
            _ => {}
        }
    }
}

/// The note-ons of a Standard MIDI File.
fn midi(bytes: &[u8]) -> Vec<Read> {
    let file = Smf::parse(bytes).unwrap();
    let Timing::Metrical(division) = file.header.timing else { panic!("beats") };
    let mut now = 0;
    let mut notes = Vec::new();
    for event in &file.tracks[0] {
        now += event.delta.as_int();
        if let TrackEventKind::Midi { message: MidiMessage::NoteOn { key, vel }, .. } = event.kind
            && vel.as_int() > 0
        {
            let at = f64::from(now) / f64::from(division.as_int());
            notes.push(Read { written: None, sounding: i32::from(key.as_int()), at });
        }
    }
    notes
}

#[test]
fn every_page_holds_what_independent_readers_found_in_it() {
    let table = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/read-back.tsv");
    let table = std::fs::read_to_string(table).unwrap();
    let mut seen = 0;
    for row in table.lines().filter(|line| !line.starts_with('#')) {
        let columns: Vec<&str> = row.split('\t').collect();
        let [id, player, firsts, written, places] = columns[..] else { panic!("{row}") };
        let firsts: Vec<i32> = firsts.split(' ').map(|number| number.parse().unwrap()).collect();
        let written: Vec<&str> = written.split(' ').collect();
        let places: Vec<f64> = places.split(' ').map(|place| place.parse().unwrap()).collect();
        let player = instrument(player).unwrap();
        let wish = StaffRequest {
            keys: Cycle::Fifths.keys(ConcertKey::FIFTHS[0], |_| 0).to_vec(),
            range: player.advanced,
            register: Register::Middle,
            tempo: Tempo(96.0),
            signatures: true,
            g_flat: false,
        };
        let (staff, _) = staff(Library::builtin().find(id).unwrap(), player, &wish);
        assert_eq!(staff.pieces.len(), firsts.len(), "{id}: keys");
        // The table has even eighths; a file of notes to be played swings them.
        let even = Staff { swing: false, ..staff.clone() };
        for read in [score(&to_musicxml(&staff)), midi(&to_midi(&even))] {
            assert_eq!(read.len(), firsts.len() * written.len(), "{id}: notes");
            for (piece, first) in read.chunks(written.len()).zip(&firsts) {
                assert_eq!(piece[0].sounding, *first, "{id}");
                for (n, note) in piece.iter().enumerate() {
                    assert_eq!(note.sounding - first, read[n].sounding - firsts[0], "{id}: intervals");
                    // Half of a tick of 480 to the quarter, and what the table rounds off.
                    assert!((note.at - piece[0].at - places[n]).abs() < 0.003, "{id}: {note:?}");
                }
            }
            for (note, written) in read.iter().zip(&written) {
                assert!(note.written.as_ref().is_none_or(|name| name == written), "{id}: {note:?} and {written}");
                assert_eq!(written.parse::<Spelled>().unwrap().midi() - note.sounding, -staff.transposition.0, "{id}");
            }
        }
        seen += 1;
    }
    assert_eq!(seen, Library::builtin().patterns().len(), "a row for every pattern");
}
