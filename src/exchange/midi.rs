use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};

use crate::exchange::staff::{Piece, Staff, StaffNote};
use crate::music::Mode;
use crate::notes::HeardNote;
use crate::pattern::{ExpectedNote, Line, Meter, Ticks, swing_at};
use crate::units::{Beats, Seconds};

/// Ticks of a quarter note in the file: a division most sequencers use.
const DIVISION: i64 = 480;
/// How hard a note is struck, of 127: mezzoforte.
const VELOCITY: u8 = 80;

/// The staff as a Standard MIDI File of one track (format 0, 480 ticks a quarter), in sounding pitch, with the General MIDI
/// sound of its instrument. Each piece begins at a bar line, under the signature of the key that sounds (major or minor, the two
/// that the format knows). Where the staff swings, eighths swing as the cue's do at this tempo. Notes outside the 128 of MIDI are
/// left out.
#[must_use]
pub fn to_midi(staff: &Staff) -> Vec<u8> {
    let mut events: Vec<(i64, TrackEventKind<'_>)> = Vec::new();
    let mut meta = |at: i64, message| events.push((at, TrackEventKind::Meta(message)));
    meta(0, MetaMessage::TrackName(staff.title.as_bytes()));
    let per_quarter = (60_000_000.0 / staff.tempo.0.max(1.0)).round() as u32;
    meta(0, MetaMessage::Tempo(u24::from(per_quarter.min(0x00ff_ffff))));
    // The number of beats, their note value as a power of two (2 for quarters, 3 for eighths), and the MIDI clocks of a beat that is
    // counted, 24 to the quarter (SMF 1.0).
    let (beats, value, clocks) = match staff.pieces.first().map(|piece| piece.meter).unwrap_or_default() {
        Meter::FourFour => (4, 2, 24),
        Meter::ThreeFour => (3, 2, 24),
        Meter::SixEight => (6, 3, 36),
    };
    meta(0, MetaMessage::TimeSignature(beats, value, clocks, 8));
    let midi = |message| TrackEventKind::Midi { channel: u4::from(0), message };
    let program = u7::from((staff.general_midi.clamp(1, 128)) - 1);
    events.push((0, midi(MidiMessage::ProgramChange { program })));
    let mut start = 0;
    for piece in &staff.pieces {
        let key = piece.sounding.plain();
        let signature = MetaMessage::KeySignature(key.signature().sharps(), key.mode == Mode::Minor);
        events.push((ticks(Ticks(start).beats()), TrackEventKind::Meta(signature)));
        // A pick-up stands at the end of its own bar.
        let first = Ticks(start + piece.lead()).beats();
        for note in &sounded(piece, staff).notes {
            let Some(key) = u8::try_from(note.pitch.0).ok().and_then(u7::try_from) else { continue };
            let (begins, ends) = (first + note.at, first + note.at + note.length);
            events.push((ticks(begins), midi(MidiMessage::NoteOn { key, vel: u7::from(VELOCITY) })));
            events.push((ticks(ends), midi(MidiMessage::NoteOff { key, vel: u7::from(0) })));
        }
        start += whole_bars(piece);
    }
    one_track(events)
}

/// A place in the file, in ticks.
fn ticks(at: Beats) -> i64 {
    (at.0 * DIVISION as f64).round() as i64
}

/// A piece as it sounds.
fn sounded(piece: &Piece, staff: &Staff) -> Line {
    let note = |note: &StaffNote| ExpectedNote {
        pitch: note.concert,
        at: note.at.beats(),
        length: note.length.beats(),
        named: None,
    };
    let line = Line { notes: piece.notes.iter().map(note).collect(), length: piece.length.beats() };
    if staff.swing { line.swung(swing_at(staff.tempo), piece.pickup.beats()) } else { line }
}

/// What was heard as a Standard MIDI File of one track (format 0, 480 ticks a quarter at 120 a minute, so 960 a second): the nearest
/// notes in sounding pitch, without their cents. Notes outside the 128 of MIDI are left out.
#[must_use]
pub fn heard_to_midi(notes: &[HeardNote]) -> Vec<u8> {
    let ticks = |at: Seconds| (at.0.max(0.0) * 2.0 * DIVISION as f64).round() as i64;
    let mut events = vec![(0, TrackEventKind::Meta(MetaMessage::Tempo(u24::from(500_000))))];
    for note in notes {
        let Some(key) = u8::try_from(note.pitch.nearest()).ok().and_then(u7::try_from) else { continue };
        let midi = |message| TrackEventKind::Midi { channel: u4::from(0), message };
        events.push((ticks(note.onset), midi(MidiMessage::NoteOn { key, vel: u7::from(VELOCITY) })));
        events.push((ticks(note.release), midi(MidiMessage::NoteOff { key, vel: u7::from(0) })));
    }
    one_track(events)
}

/// A file of these events; each comes with its tick.
fn one_track(mut events: Vec<(i64, TrackEventKind<'_>)>) -> Vec<u8> {
    // What ends at an instant comes before what begins there.
    events.sort_by_key(|(at, kind)| {
        let begins = matches!(kind, TrackEventKind::Midi { message: MidiMessage::NoteOn { .. }, .. });
        (*at, begins)
    });
    let mut track = Vec::new();
    let mut before = 0;
    for (at, kind) in events {
        track.push(TrackEvent { delta: u28::from(u32::try_from(at - before).unwrap_or(0)), kind });
        before = at;
    }
    track.push(TrackEvent { delta: u28::from(0), kind: TrackEventKind::Meta(MetaMessage::EndOfTrack) });
    let header = Header::new(Format::SingleTrack, Timing::Metrical(u15::from(DIVISION as u16)));
    let mut bytes = Vec::new();
    // Writing into memory fails only for more tracks than the format counts, and there is one.
    let _ = Smf { header, tracks: vec![track] }.write_std(&mut bytes);
    bytes
}

/// Length of a piece in ticks, filled up to whole bars; a pick-up has a bar of its own.
fn whole_bars(piece: &Piece) -> i64 {
    let bar = piece.bar();
    (piece.lead() + piece.length.0 + bar - 1) / bar * bar
}
