use midly::num::{u7, u28};
use midly::{MetaMessage, MidiMessage, Smf, Track, TrackEvent, TrackEventKind};

use crate::exchange::held_keys::{HeldKeys, PERCUSSION, QUARTER_US, reads};
use crate::exchange::midi_held::{HeldOver, HeldReading};
use crate::midi::{KeyMessage, KeySpan, LineChoice};
use crate::music::Concert;

/// Where the bend moves nothing (MIDI 1.0).
const CENTRE: u16 = 8192;
/// Keys that go down nearer to one another than this share of a quarter may be one chord.
const CHORD: f64 = 1.0 / 8.0;
/// A key that comes up where its track ends, after so many quarters or more, and was the only one for over half of its time, was
/// let go by the end alone.
const FORGOTTEN: f64 = 8.0;

/// What is to be said of a MIDI file beside its notes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct MidiTold {
    /// The keys that never come up, though others go down after them.
    pub never_let_go: Vec<Concert>,
    /// The keys that come up only where their track ends, long after all others.
    pub let_go_at_end: Vec<Concert>,
    /// The keys that never come up and after which no other goes down.
    pub last_not_let_go: Vec<Concert>,
    /// Whether a pitch bend leaves its centre on a channel that has notes.
    pub bends: bool,
    /// Whether the tempo changes between the first note and the last: slower by a fifth or more, or quicker by more than a quarter.
    pub tempo_changes: bool,
    /// Number of keys that were struck beyond those that are listened to.
    pub outside: u32,
    /// Number of notes on the channel of percussion, where that is left out because no channel was chosen.
    pub drums: u32,
    /// The keys that go down again before they came up, and are not named above: a word that they came up is missing.
    pub struck_again: Vec<Concert>,
    /// The key that is held over all that follow, where it hides them or counts as a note before them.
    pub held: Option<HeldOver>,
    /// The reading by which the line was taken, where it is another than the usual one.
    pub taken: Option<HeldReading>,
}

/// A key that was held in a track.
struct TrackKey {
    track: usize,
    /// Channel, from 0, and number.
    key: (u8, u8),
    begins: u64,
    /// `None` where it never comes up.
    ends: Option<u64>,
}

/// Leaves out the keys that are not listened to, and lets the keys go that never come up: each ends where the next key goes down, so that
/// it hides nothing. Tells that, and what else is to be said of the channels that are read.
pub(super) fn told(smf: &mut Smf<'_>, division: f64, choice: LineChoice) -> MidiTold {
    let channel = choice.channel;
    let outside = choice.keys.map_or(0, |keys| smf.tracks.iter_mut().map(|track| only(track, keys, channel)).sum());
    let (mut held, mut downs, mut tempi) = (Vec::new(), Vec::new(), Vec::new());
    // A bit a channel: whether a wheel leaves its centre there, and whether a key goes down there.
    let (mut bent, mut played) = (0_u16, 0_u16);
    let (drums, mut again) = (drums(smf, channel), Vec::new());
    let mut track_ends = Vec::new();
    for (track, events) in smf.tracks.iter().enumerate() {
        let (mut at, mut down) = (0_u64, HeldKeys::default());
        let mut up = |key, begins, ends| held.push(TrackKey { track, key, begins, ends });
        for event in events {
            at += u64::from(event.delta.as_int());
            match event.kind {
                TrackEventKind::Meta(MetaMessage::Tempo(quarter)) if quarter.as_int() > 0 => {
                    tempi.push((at, quarter.as_int()));
                }
                TrackEventKind::Midi { channel: of, message } if reads(channel, of.as_int()) => {
                    let of = of.as_int();
                    match message {
                        MidiMessage::NoteOn { key, vel } if vel.as_int() > 0 => {
                            let key = (of, key.as_int());
                            if let Some(begins) = down.down(key, at) {
                                up(key, begins, Some(at));
                                again.push(Concert(i32::from(key.1)));
                            }
                            downs.push(at);
                            played |= 1 << of;
                        }
                        MidiMessage::NoteOn { key, .. } | MidiMessage::NoteOff { key, .. } => {
                            let key = (of, key.as_int());
                            down.up(key, at).into_iter().for_each(|begins| up(key, begins, Some(at)));
                        }
                        MidiMessage::Controller { controller, value }
                            if KeyMessage::of_controller(controller.as_int(), value.as_int()) == KeyMessage::AllUp =>
                        {
                            down.all_up(of).for_each(|(key, begins)| up((of, key), begins, Some(at)));
                        }
                        MidiMessage::PitchBend { bend } => bent |= u16::from(bend.0.as_int() != CENTRE) << of,
                        _ => {}
                    }
                }
                _ => {}
            }
        }
        down.left().for_each(|(key, begins)| up(key, begins, None));
        track_ends.push(at);
    }
    downs.sort_unstable();
    let mut told =
        MidiTold { bends: bent & played != 0, tempo_changes: changes(tempi, &downs), outside, ..MidiTold::default() };
    let forgotten: Vec<&TrackKey> =
        held.iter().filter(|one| forgotten(one, &held, &downs, track_ends[one.track], division)).collect();
    end_forgotten(smf, forgotten, &downs, ((division * CHORD) as u64).max(1), &mut told);
    told.drums = drums;
    told.name_struck_again(again);
    told
}

impl MidiTold {
    /// Names the keys that went down again before they came up, each once, and none that is named already.
    fn name_struck_again(&mut self, again: Vec<Concert>) {
        for key in again {
            let known = [&self.never_let_go, &self.let_go_at_end, &self.last_not_let_go, &self.struck_again];
            if !known.iter().any(|keys| keys.contains(&key)) {
                self.struck_again.push(key);
            }
        }
    }
}

/// Number of notes on the channel of percussion, which is left out where no channel was chosen.
fn drums(smf: &Smf<'_>, chosen: Option<u8>) -> u32 {
    let is_one = |event: &TrackEventKind<'_>| match event {
        TrackEventKind::Midi { channel, message: MidiMessage::NoteOn { vel, .. } } => {
            channel.as_int() == PERCUSSION && vel.as_int() > 0
        }
        _ => false,
    };
    let notes = smf.tracks.iter().flatten().filter(|event| is_one(&event.kind)).count();
    if chosen.is_none() { notes as u32 } else { 0 }
}

/// Ends each key that is forgotten where the next goes down, and tells them apart. Keys that go down nearer than `apart` may be one chord.
fn end_forgotten(smf: &mut Smf<'_>, mut keys: Vec<&TrackKey>, downs: &[u64], apart: u64, told: &mut MidiTold) {
    keys.sort_by_key(|one| (one.begins, one.key));
    for one in keys {
        let next = downs.iter().copied().find(|at| *at >= one.begins + apart);
        let named = match (next, one.ends) {
            (Some(_), None) => &mut told.never_let_go,
            (Some(_), Some(_)) => &mut told.let_go_at_end,
            (None, None) => &mut told.last_not_let_go,
            (None, Some(_)) => continue,
        };
        let key = Concert(i32::from(one.key.1));
        if !named.contains(&key) {
            named.push(key);
        }
        if let Some(next) = next {
            let_go(&mut smf.tracks[one.track], one.key, next);
        }
    }
}

/// Takes the keys out of a track that are not among these; gives how many of them are struck on a channel that is read.
fn only(track: &mut Track<'_>, keys: KeySpan, channel: Option<u8>) -> u32 {
    let (mut outside, mut waited) = (0, 0_u64);
    for mut event in std::mem::take(track) {
        let struck = match event.kind {
            TrackEventKind::Midi { channel: of, message: MidiMessage::NoteOn { key, vel } } => {
                Some((key, vel.as_int() > 0 && reads(channel, of.as_int())))
            }
            TrackEventKind::Midi { message: MidiMessage::NoteOff { key, .. }, .. } => Some((key, false)),
            _ => None,
        };
        waited += u64::from(event.delta.as_int());
        if let Some((_, counts)) = struck.filter(|(key, _)| !keys.holds(key.as_int())) {
            outside += u32::from(counts);
            continue;
        }
        event.delta = u32::try_from(waited).ok().and_then(u28::try_from).unwrap_or(u28::max_value());
        waited = 0;
        track.push(event);
    }
    outside
}

/// Whether a key never comes up, or only where its track ends, long after all others (`FORGOTTEN`).
fn forgotten(one: &TrackKey, held: &[TrackKey], downs: &[u64], track_end: u64, division: f64) -> bool {
    let Some(ends) = one.ends else { return true };
    let lasts = ends - one.begins;
    let others = held.iter().filter(|other| other.key != one.key).filter_map(|other| other.ends);
    let last = others.chain(downs.last().copied()).max().unwrap_or(0);
    ends == track_end && lasts as f64 >= FORGOTTEN * division && 2 * ends.saturating_sub(last) > lasts
}

/// Whether the tempo changes between the first key and the last, by as much as `MidiTold` says.
fn changes(mut tempi: Vec<(u64, u32)>, downs: &[u64]) -> bool {
    let (Some(first), Some(last)) = (downs.first(), downs.last()) else { return false };
    tempi.sort_by_key(|(at, _)| *at);
    let begun = tempi.iter().rev().find(|(at, _)| at <= first).map_or(QUARTER_US, |one| one.1);
    let far = |quarter: u32| !(0.8..1.25).contains(&(f64::from(quarter) / f64::from(begun)));
    tempi.iter().any(|(at, quarter)| first < at && at < last && far(*quarter))
}

/// Puts the end of a key into its track, before what begins there.
fn let_go(track: &mut Track<'_>, (channel, key): (u8, u8), at: u64) {
    let mut so_far = 0;
    let mut events: Vec<(u64, TrackEventKind<'_>)> = Vec::with_capacity(track.len() + 1);
    for event in track.iter() {
        so_far += u64::from(event.delta.as_int());
        events.push((so_far, event.kind));
    }
    let ended = |event: &(u64, TrackEventKind<'_>)| event.1 == TrackEventKind::Meta(MetaMessage::EndOfTrack);
    let place = events.iter().position(|event| event.0 >= at || ended(event)).unwrap_or(events.len());
    let message = MidiMessage::NoteOff { key: u7::from_int_lossy(key), vel: u7::from_int_lossy(0) };
    let channel = midly::num::u4::from_int_lossy(channel);
    events.insert(place, (at, TrackEventKind::Midi { channel, message }));
    let mut before = 0;
    track.clear();
    for (tick, kind) in events {
        let delta = u32::try_from(tick.saturating_sub(before)).unwrap_or(u32::MAX);
        track.push(TrackEvent { delta: u28::try_from(delta).unwrap_or(u28::max_value()), kind });
        before = before.max(tick);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::{chosen_in_midi, played_in_midi};
    use crate::midi::LineChoice;

    const ROW: [u8; 9] = [60, 62, 64, 65, 67, 65, 64, 62, 60];

    /// A file of one track, 480 ticks to a quarter, of events at their ticks.
    fn file(mut events: Vec<(u32, Vec<u8>)>) -> Vec<u8> {
        events.sort_by_key(|(at, _)| *at);
        let mut said = Vec::new();
        let mut before = 0;
        for (at, event) in events {
            let delta = at - before;
            said.extend([(delta >> 7) as u8 | 0x80, (delta & 127) as u8]);
            said.extend(event);
            before = at;
        }
        said.extend(b"\0\xff\x2f\0");
        let mut bytes = b"MThd\0\0\0\x06\0\0\0\x01\x01\xe0MTrk".to_vec();
        bytes.extend((said.len() as u32).to_be_bytes());
        bytes.extend(said);
        bytes
    }

    /// A row of eighths up and down from a tick on, with these events.
    fn row(from: u32, with: &[(u32, &[u8])]) -> Vec<u8> {
        let note = |(n, key): (u32, u8)| {
            let at = from + 240 * n;
            [(at, vec![0x90, key, 80]), (at + 220, vec![0x80, key, 64])]
        };
        let mut events: Vec<(u32, Vec<u8>)> = (0..).zip(ROW).flat_map(note).collect();
        events.extend(with.iter().map(|(at, event)| (*at, event.to_vec())));
        file(events)
    }

    /// The pitches that are heard and those that are learned, and what is told of both.
    fn both(bytes: &[u8]) -> (Vec<i32>, MidiTold) {
        let played = played_in_midi(bytes, LineChoice::default()).unwrap();
        let (voice, _, told) = chosen_in_midi(bytes, LineChoice::default()).unwrap();
        let heard: Vec<i32> = played.line.iter().map(|note| note.pitch.nearest()).collect();
        assert_eq!(heard, voice.line.notes.iter().map(|note| note.pitch.0).collect::<Vec<_>>());
        assert_eq!(played.told, told);
        (heard, told)
    }

    #[test]
    fn a_key_that_never_comes_up_hides_nothing_and_is_told_once_by_whoever_reads() {
        let with = |key: i32| [&[key], &ROW.map(i32::from)[..]].concat();
        let (heard, told) = both(&row(480, &[(0, &[0x90, 72, 80])]));
        assert_eq!((heard, told.never_let_go), (with(72), vec![Concert(72)]));
        // The controllers are put back, which lets no key go.
        let (heard, told) = both(&row(480, &[(0, &[0x90, 79, 80]), (200, &[0xB0, 121, 0])]));
        assert_eq!((heard, told.never_let_go), (with(79), vec![Concert(79)]));
        // It comes up where the file ends, long after all others.
        let (heard, told) = both(&row(240, &[(0, &[0x90, 84, 70]), (6000, &[0x80, 84, 0])]));
        assert_eq!((heard, told.let_go_at_end, told.never_let_go), (with(84), vec![Concert(84)], vec![]));
        // Struck with a note of the row, above it.
        let (heard, told) = both(&row(0, &[(480, &[0x90, 84, 70])]));
        assert_eq!((heard, told.never_let_go), (vec![60, 62, 84, 65, 67, 65, 64, 62, 60], vec![Concert(84)]));
    }

    #[test]
    fn a_last_note_without_an_end_is_told_apart_and_one_that_is_held_to_the_end_is_no_stuck_key() {
        let (heard, told) = both(&row(0, &[(2160, &[0x90, 62, 80])]));
        let last = MidiTold { last_not_let_go: vec![Concert(62)], ..MidiTold::default() };
        assert_eq!((heard.len(), told), (10, last));
        // No key of a row comes up at all: each of its five keys is named once.
        let none: Vec<(u32, Vec<u8>)> = (0..).zip(ROW).map(|(n, key)| (240 * n, vec![0x90, key, 80])).collect();
        let told = played_in_midi(&file(none), LineChoice::default()).unwrap().told;
        assert_eq!(told.never_let_go, [67, 65, 64, 62].map(Concert));
        assert_eq!(told.last_not_let_go, [Concert(60)]);
        let held = played_in_midi(&row(480, &[(0, &[0x90, 72, 80]), (2640, &[0x80, 72, 0])]), LineChoice::default());
        assert_eq!(held.unwrap().told.never_let_go, []);
    }

    #[test]
    fn a_bend_and_a_tempo_that_changes_are_told_where_they_are() {
        assert_eq!(both(&row(0, &[(0, &[0xE0, 0, 64])])).1, MidiTold::default(), "the wheel at rest");
        assert!(both(&row(0, &[(0, &[0xE0, 0, 70])])).1.bends);
        assert!(!both(&row(0, &[(0, &[0xE1, 0, 70])])).1.bends, "the wheel of a channel without notes");
        let slower: &[u8] = &[0xFF, 0x51, 3, 0x0F, 0x42, 0x40];
        assert!(both(&row(0, &[(960, slower)])).1.tempo_changes);
        assert!(!both(&row(0, &[(0, slower)])).1.tempo_changes);
    }
}
