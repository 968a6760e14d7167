use midly::{Format, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};

use crate::exchange::held_keys::{HeldKeys, PERCUSSION, reads};
use crate::exchange::midi_fault::fault;
use crate::exchange::midi_told::{MidiTold, told};
use crate::exchange::voice::{Bar, ImportedVoice, MOST_BYTES, MOST_NOTES, Refused, one_voice};
use crate::midi::{KeyMessage, LineChoice};
use crate::music::{Concert, ConcertKey, PitchClass};
use crate::pattern::Meter;
use crate::units::Tempo;

/// Length of a bar, in quarters, before a file says otherwise (Standard MIDI File 1.0).
const BAR: f64 = 4.0;

/// Reads one voice from a Standard MIDI File; the notes of all tracks are taken together, percussion (channel 10) left out.
///
/// # Errors
/// [`Refused`]: too large, damaged, film time, several pieces, nothing sounding but percussion, several notes at once, too long.
pub fn from_midi(bytes: &[u8]) -> Result<ImportedVoice, Refused> {
    voice(bytes, LineChoice::default(), None).map(|(voice, _)| voice)
}

/// A note of a line: the tick at which it begins, and its pitch.
pub(super) type KeyOnset = (u64, i32);

/// One voice of a file, from the channel and the keys that were chosen; without a channel from all but percussion. Where `line` is given,
/// only its notes are taken from what sounds there.
pub(super) fn voice(
    bytes: &[u8],
    choice: LineChoice,
    line: Option<&[KeyOnset]>,
) -> Result<(ImportedVoice, MidiTold), Refused> {
    let (mut smf, division) = opened(bytes)?;
    let told = told(&mut smf, division, choice);
    let channel = choice.channel;
    let shortest = (division / 4.0).max(1.0) as u64;
    let mut found = TrackReading { shortest, channel, ..TrackReading::default() };
    let mut stuck = Vec::new();
    for track in &smf.tracks {
        let mut at = 0_u64;
        let mut held = HeldKeys::default();
        for event in track {
            at += u64::from(event.delta.as_int());
            found.event(&event.kind, at, &mut held);
            if found.notes.len() > MOST_NOTES {
                return Err(Refused::TooLong);
            }
        }
        stuck.extend(held.left().map(|((_, key), begins)| (key, begins, at)));
    }
    // A key that never comes up sounds until the next goes down, or to the end.
    for (key, begins, end) in stuck {
        let next = found.notes.iter().map(|note| note.1).filter(|at| *at > begins).min();
        found.note(key, begins, next.unwrap_or(end));
    }
    if let Some(line) = line {
        found.notes = only(&found.notes, line, shortest);
    }
    let begins = found.notes.iter().map(|note| note.1).min().unwrap_or(0);
    let notes = found.notes.into_iter();
    let beats: Vec<(Concert, f64, f64)> =
        notes.map(|(pitch, begins, ends)| (pitch, quarters(begins, division), quarters(ends, division))).collect();
    let TrackReading { title, mut tempi, mut keys, mut bars, mut meters, .. } = found;
    tempi.sort_by_key(|(at, _)| *at);
    // Some programs write "no sharps, no flats" at the start of every track, beside the track that has the key.
    keys.sort_by_key(|(at, key)| (*at, key.is_some()));
    meters.sort_by_key(|(at, _)| *at);
    let tempo = in_force(&tempi, begins).map(|quarter| Tempo(60_000_000.0 / f64::from(*quarter)));
    let key = in_force(&keys, begins).copied().flatten();
    let meter = in_force(&meters, begins).copied().unwrap_or_default();
    bars.sort_by_cached_key(|(at, _)| *at);
    let bars: Vec<(f64, f64)> = bars.into_iter().map(|(at, length)| (at as f64 / division, length)).collect();
    let written =
        beats.iter().all(|note| PARTS.iter().any(|parts| (note.1 * parts - (note.1 * parts).round()).abs() < 1e-6));
    let (line, pickup) =
        one_voice(beats, |at| bar_at(&bars, at, written)).map_err(|refused| nothing_in(&smf, channel, refused))?;
    Ok((ImportedVoice { title, line, pickup, meter, swing: false, sounding: true, tempo, key }, told))
}

/// What is refused, made more exact: a file in which nothing sounds may hold percussion, which was not chosen.
pub(super) fn nothing_in(smf: &Smf<'_>, channel: Option<u8>, refused: Refused) -> Refused {
    let struck = |event: &TrackEvent<'_>| {
        let TrackEventKind::Midi { channel, message: MidiMessage::NoteOn { vel, .. } } = event.kind else {
            return false;
        };
        channel.as_int() == PERCUSSION && vel.as_int() > 0
    };
    let drums = refused == Refused::Empty && channel.is_none() && smf.tracks.iter().flatten().any(struck);
    if drums { Refused::Drums } else { refused }
}

/// The notes of `line` as (pitch, begins, ends), in ticks. Each lasts as long as that note of `notes` which begins at the same tick, or else
/// sounds there, and is nearest in pitch (`shortest` where none does), and at most until the next note of `line`.
fn only(notes: &[(Concert, u64, u64)], line: &[KeyOnset], shortest: u64) -> Vec<(Concert, u64, u64)> {
    let one = |(n, &(at, pitch)): (usize, &KeyOnset)| {
        let near = |note: &&(Concert, u64, u64)| (note.0.0 - pitch).abs();
        let played = notes.iter().filter(|note| note.1 == at).min_by_key(near);
        // A note that is bent from another one lasts as long as the key is down.
        let played = played.or_else(|| notes.iter().filter(|note| note.1 < at && at < note.2).min_by_key(near));
        let ends = played.map_or(at + shortest, |note| note.2);
        (Concert(pitch), at, line.get(n + 1).map_or(ends, |next| ends.min(next.0)))
    };
    line.iter().enumerate().map(one).collect()
}

/// The tracks of a file, and the number of ticks in a quarter note.
pub(super) fn opened(bytes: &[u8]) -> Result<(Smf<'_>, f64), Refused> {
    if bytes.len() > MOST_BYTES {
        return Err(Refused::TooLarge);
    }
    let damaged = |why: String| Refused::Damaged { kind: "MIDI", why };
    if !bytes.starts_with(b"MThd") && !bytes.starts_with(b"RIFF") {
        return Err(damaged("it does not begin with MThd".into()));
    }
    // Film time at -128 frames does not exist, and the reader overflows on it (midly 0.5.3, found by the tests).
    if bytes.windows(13).any(|head| head.starts_with(b"MThd") && head[12] == 0x80) {
        return Err(Refused::FilmTime);
    }
    let smf = Smf::parse(bytes).map_err(|error| damaged(fault(bytes).unwrap_or_else(|| error.to_string())))?;
    if smf.header.format == Format::Sequential && smf.tracks.len() > 1 {
        return Err(Refused::Sequences);
    }
    let Timing::Metrical(division) = smf.header.timing else { return Err(Refused::FilmTime) };
    let division = f64::from(division.as_int());
    if division < 1.0 {
        return Err(damaged("a quarter note has no ticks".into()));
    }
    // The header says how many tracks there are (Standard MIDI File 1.0).
    let heads = |head: &&[u8]| head.starts_with(b"MThd");
    let announced = bytes.windows(12).find(heads).map_or(0, |head| u16::from_be_bytes([head[10], head[11]]));
    // Every track ends with its own mark (Standard MIDI File 1.0): where it is missing, so are notes.
    let ended = |track: &Vec<TrackEvent<'_>>| {
        track.last().is_some_and(|event| event.kind == TrackEventKind::Meta(MetaMessage::EndOfTrack))
    };
    if smf.tracks.len() < usize::from(announced) || !smf.tracks.iter().all(ended) {
        return Err(damaged(fault(bytes).unwrap_or_else(|| "the file ends early".to_owned())));
    }
    Ok((smf, division))
}

/// What holds where a line begins, of values in order that each hold from a tick on. Before all of them the earliest holds; of several at
/// one tick the last.
fn in_force<T>(values: &[(u64, T)], begins: u64) -> Option<&T> {
    let from = values.first()?.0.max(begins);
    values.iter().take_while(|(at, _)| *at <= from).last().map(|(_, value)| value)
}

/// The bar in which a place lies, in quarters from the start. `bars` has the places from which bars have another length, with that
/// length, in order. In a file that states no bars the first note begins one, or, where the notes are `written` on beats and their parts,
/// the beat in which the first note lies does: a line that begins off the beat keeps its rest.
fn bar_at(bars: &[(f64, f64)], at: f64, written: bool) -> Bar {
    if bars.is_empty() {
        return Bar { begins: if written { (at + 1e-6).floor() } else { at }, length: BAR, whole: BAR };
    }
    let (from, length) = bars.iter().rev().find(|(from, _)| *from <= at + 1e-6).copied().unwrap_or((0.0, BAR));
    let begins = from + ((at - from + 1e-6) / length).floor() * length;
    Bar { begins, length, whole: length }
}

/// Notes that were written without bars begin on such parts of a quarter: on sixteenths or on triplets.
const PARTS: [f64; 2] = [4.0, 3.0];

/// Into how many equal parts a quarter may be divided for the beginnings and ends of notes, the plainest first: divisions of a quarter and
/// of an eighth.
const SHARES: [u32; 14] = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18];

/// A tick in quarters from the start. In most files a seventh of a quarter is no whole number of ticks. So a place within half a tick of
/// a share of the quarter is that share, unless another share is exact.
fn quarters(tick: u64, division: f64) -> f64 {
    let at = tick as f64 / division;
    let shares = SHARES.map(|share| (at * f64::from(share)).round() / f64::from(share));
    let within = |ticks: f64| shares.into_iter().find(|place| ((place - at) * division).abs() <= ticks);
    within(1e-6).or_else(|| within(0.5 + 1e-6)).unwrap_or(at)
}

#[derive(Default)]
struct TrackReading {
    /// Length, in ticks, of a note that ends where it begins, as drum pads write it.
    shortest: u64,
    /// The only channel that is read, 1 to 16; `None` reads all but percussion.
    channel: Option<u8>,
    notes: Vec<(Concert, u64, u64)>,
    title: Option<String>,
    /// Each tick from which another tempo holds, and the microseconds of its quarter.
    tempi: Vec<(u64, u32)>,
    /// Each tick from which another key signature holds; `None` for no sharps and no flats.
    keys: Vec<(u64, Option<ConcertKey>)>,
    /// Each tick from which bars have another length, and that length in quarters.
    bars: Vec<(u64, f64)>,
    /// Each tick from which bars are counted otherwise.
    meters: Vec<(u64, Meter)>,
}

impl TrackReading {
    fn note(&mut self, key: u8, begins: u64, ends: u64) {
        let ends = if ends > begins { ends } else { begins + self.shortest };
        self.notes.push((Concert(i32::from(key)), begins, ends));
    }

    /// Whether a channel, counted from 0, is read.
    fn reads(&self, channel: u8) -> bool {
        reads(self.channel, channel)
    }

    fn event(&mut self, kind: &TrackEventKind<'_>, at: u64, held: &mut HeldKeys) {
        match kind {
            TrackEventKind::Midi { channel, message } if self.reads(channel.as_int()) => match message {
                MidiMessage::NoteOn { key, vel } if vel.as_int() > 0 => {
                    let key = (channel.as_int(), key.as_int());
                    if let Some(begins) = held.down(key, at) {
                        self.note(key.1, begins, at);
                    }
                }
                // A note-on of velocity 0 ends a note (MIDI 1.0).
                MidiMessage::NoteOn { key, .. } | MidiMessage::NoteOff { key, .. } => {
                    if let Some(begins) = held.up((channel.as_int(), key.as_int()), at) {
                        self.note(key.as_int(), begins, at);
                    }
                }
                MidiMessage::Controller { controller, value }
                    if KeyMessage::of_controller(controller.as_int(), value.as_int()) == KeyMessage::AllUp =>
                {
                    held.all_up(channel.as_int()).for_each(|(key, begins)| self.note(key, begins, at));
                }
                _ => {}
            },
            TrackEventKind::Meta(MetaMessage::TrackName(name)) if self.title.is_none() => {
                self.title = plain(&String::from_utf8_lossy(name));
            }
            TrackEventKind::Meta(MetaMessage::Tempo(per_quarter)) if per_quarter.as_int() > 0 => {
                self.tempi.push((at, per_quarter.as_int()));
            }
            // The number of beats, and their note value as a power of two: 2 for quarters, 3 for eighths.
            TrackEventKind::Meta(MetaMessage::TimeSignature(beats @ 1.., power @ 0..=6, ..)) => {
                let value = 1_u32 << power;
                self.bars.push((at, 4.0 * f64::from(*beats) / f64::from(value)));
                self.meters.push((at, Meter::parse(&format!("{beats}/{value}")).unwrap_or_default()));
            }
            TrackEventKind::Meta(MetaMessage::KeySignature(sharps, minor)) => {
                let tonic = 7 * i32::from(*sharps) + if *minor { 9 } else { 0 };
                self.keys.push((at, (*sharps != 0).then_some(ConcertKey(PitchClass::new(tonic)))));
            }
            _ => {}
        }
    }
}

/// The title in one line of at most 80 characters, without signs that steer a terminal; `None` where it is empty.
pub(super) fn plain(text: &str) -> Option<String> {
    let title: String = text.trim().chars().filter(|c| !c.is_control()).take(80).collect();
    (!title.is_empty()).then_some(title)
}

#[cfg(test)]
mod tests {
    use super::*;
    use midly::Header;
    use midly::num::{u4, u7, u15, u24, u28};

    /// A file of tracks whose events stand at their ticks, 480 to a quarter.
    fn file(tracks: &[&[(u32, TrackEventKind<'static>)]]) -> Vec<u8> {
        let mut smf = Smf::new(Header::new(Format::Parallel, Timing::Metrical(u15::new(480))));
        for events in tracks {
            let mut before = 0;
            let mut track: Vec<TrackEvent<'static>> = Vec::new();
            for (at, kind) in events.iter().copied().chain([(9600, TrackEventKind::Meta(MetaMessage::EndOfTrack))]) {
                track.push(TrackEvent { delta: u28::new(at - before), kind });
                before = at;
            }
            smf.tracks.push(track);
        }
        let mut bytes = Vec::new();
        smf.write(&mut bytes).unwrap();
        bytes
    }

    fn tempo(quarters: u32) -> TrackEventKind<'static> {
        TrackEventKind::Meta(MetaMessage::Tempo(u24::new(60_000_000 / quarters)))
    }

    fn sharps(sharps: i8) -> TrackEventKind<'static> {
        TrackEventKind::Meta(MetaMessage::KeySignature(sharps, false))
    }

    fn key(key: u8, vel: u8) -> TrackEventKind<'static> {
        let message = MidiMessage::NoteOn { key: u7::new(key), vel: u7::new(vel) };
        TrackEventKind::Midi { channel: u4::new(0), message }
    }

    #[test]
    fn tempo_and_key_are_those_at_which_the_line_begins_whichever_track_has_them() {
        let read = |tracks: &[&[(u32, TrackEventKind<'static>)]]| {
            let voice = from_midi(&file(tracks)).unwrap();
            (voice.tempo.map(|tempo| tempo.0.round()), voice.key.map(|key| key.name()))
        };
        let line = [(960, key(62, 80)), (1440, key(62, 0)), (1440, key(64, 80)), (1920, key(64, 0))];
        let later = [(4800, tempo(60)), (4800, sharps(-3))];
        let first = [(0, tempo(140)), (0, sharps(2))];
        assert_eq!(read(&[&later, &first, &line]), (Some(140.0), Some("D")), "the first track is a later one");
        let counted_in = [(0, tempo(90)), (960, tempo(180)), (960, sharps(1)), (4800, tempo(60))];
        assert_eq!(read(&[&counted_in, &line]), (Some(180.0), Some("G")), "after two beats of counting in");
        assert_eq!(read(&[&[(0, sharps(0))], &first, &[(0, sharps(0))], &line]).1, Some("D"));
        assert_eq!(read(&[&[(0, sharps(0)), (4800, sharps(4))], &line]).1, None, "it begins without signs");
        assert_eq!(read(&[&later, &line]), (Some(60.0), Some("Eb")), "none is stated before");
    }
}
