use std::collections::{BTreeMap, BTreeSet};

use midly::{MetaMessage, MidiMessage, Smf, TrackEventKind};

use crate::exchange::held_keys::{HeldKeys, PERCUSSION, QUARTER_US};
use crate::exchange::midi_held::{OtherLine, SaidAt, held_over, line_meant, other_lines};
use crate::exchange::midi_in::{KeyOnset, nothing_in, opened, voice};
use crate::exchange::midi_told::{MidiTold, told};
use crate::exchange::voice::{ImportedVoice, Refused};
use crate::midi::{ChannelMessage, KeyMessage, KeySlips, KeyedLine, KeysBeside, LineChoice, LongHolds};
use crate::notes::{HeardNote, NoteEvent};
use crate::units::{Seconds, Tempo};

/// Smallest length of a last note whose key never comes up.
const LET_GO: Seconds = Seconds(0.25);

/// What was played into a Standard MIDI File.
#[derive(Debug, Clone, PartialEq)]
pub struct PlayedFile {
    /// The notes of the line, one at a time.
    pub line: Vec<HeardNote>,
    /// The lines by other readings, where keys are held over others: the first reading takes them for another hand.
    pub others: Vec<OtherLine>,
    /// The keys that were played beside the line.
    pub beside: KeysBeside,
    /// The tempo at which the line begins, or else the first that the file states; `None` where it states none.
    pub tempo: Option<Tempo>,
    /// What is to be said of the file beside its notes.
    pub told: MidiTold,
}

/// The line that was played into a Standard MIDI File, heard as from a MIDI instrument: one note at a time, as `choice` says. All
/// tracks are taken together; percussion, which is channel 10, is left out unless it was chosen.
///
/// # Errors
/// [`Refused`]: too large, damaged, film time, several pieces, nothing sounding but percussion that was not chosen.
pub fn played_in_midi(bytes: &[u8], choice: LineChoice) -> Result<PlayedFile, Refused> {
    line_in(bytes, choice, &mut |_, _| ())
}

/// The voice that is written in a Standard MIDI File, in the channel and the keys that were chosen, its rhythm to the tick; the keys that
/// were played beside it; and what is to be said of the file. Where several notes sound at once, or where pitch bend counts, the voice has the
/// notes of the line that [`played_in_midi`] hears.
///
/// # Errors
/// [`Refused`]: too large, damaged, film time, several pieces, nothing sounding but percussion that was not chosen, too long.
pub fn chosen_in_midi(bytes: &[u8], choice: LineChoice) -> Result<(ImportedVoice, KeysBeside, MidiTold), Refused> {
    let alone = voice(bytes, choice, None);
    if !matches!(alone, Err(Refused::Chord { .. })) && !choice.bend {
        let (voice, told) = alone?;
        // Every note of these keys is in the voice.
        let beside =
            KeysBeside { hidden: 0, brushed: KeySlips::default(), ..line_in(bytes, choice, &mut |_, _| ())?.beside };
        return Ok((voice, beside, told));
    }
    let mut struck: Vec<(Seconds, u64)> = Vec::new();
    let played = line_in(bytes, choice, &mut |at, tick| struck.push((at, tick)))?;
    let begins = |note: &HeardNote| struck.iter().find(|(at, _)| *at == note.onset).map(|(_, tick)| *tick);
    let onset = |note: &HeardNote| Some((begins(note)?, note.pitch.nearest()));
    let hides =
        played.beside.long.told() != LongHolds::default() || played.told.held.as_ref().is_some_and(|held| held.hides);
    let meant = line_meant(&played.line, &played.others, played.told.held.as_slice(), hides);
    let notes = meant.map_or(&played.line, |other| &other.line);
    let line: Vec<KeyOnset> = notes.iter().filter_map(onset).collect();
    let told = MidiTold { taken: meant.map(|other| other.reading.clone()), ..played.told };
    Ok((voice(bytes, choice, Some(&line))?.0, played.beside, told))
}

/// The line, as it is heard; `struck` gets the instant and the tick of every key that goes down.
fn line_in(bytes: &[u8], choice: LineChoice, struck: &mut dyn FnMut(Seconds, u64)) -> Result<PlayedFile, Refused> {
    let (mut smf, division) = opened(bytes)?;
    let mut told = told(&mut smf, division, choice);
    let (mut said, tempi, end) = gathered(&smf, choice.channel == Some(PERCUSSION + 1));
    // What ends at an instant comes before what begins there.
    said.sort_by_key(|(tick, message)| (*tick, matches!(message.what, KeyMessage::Down { .. })));
    // A note begins where a key goes down, or where it is bent.
    let begins = |what| matches!(what, KeyMessage::Down { .. } | KeyMessage::Bend { .. });
    for (tick, _) in said.iter().filter(|(_, message)| begins(message.what)) {
        struck(seconds(*tick, &tempi, division), *tick);
    }
    let end = seconds(end, &tempi, division);
    let said: Vec<SaidAt> =
        said.into_iter().map(|(tick, message)| (seconds(tick, &tempi, division), message)).collect();
    let (line, beside) = heard(&said, end, choice);
    let Some(first) = line.first() else {
        return Err(nothing_in(&smf, choice.channel, Refused::Empty));
    };
    let begun = tempi.iter().rev().find(|(tick, _)| seconds(*tick, &tempi, division) <= first.onset);
    let tempo = begun.or(tempi.first()).map(|(_, quarter)| Tempo(60_000_000.0 / f64::from(*quarter)));
    told.held = held_over(&said, choice.of_chord, &line, &beside);
    let never = told.never_let_go.first().copied().filter(|_| told.never_let_go.len() == 1);
    let others = other_lines(&said, choice, beside.hidden, never, &|said| heard(said, end, choice).0);
    let beside = KeysBeside { outside: told.outside, ..beside };
    Ok(PlayedFile { line, others, beside, tempo, told })
}

/// The line of messages up to an end, and what was played beside it.
fn heard(said: &[SaidAt], end: Seconds, choice: LineChoice) -> (Vec<HeardNote>, KeysBeside) {
    let (mut line, mut heard) = (KeyedLine::new(choice), Vec::new());
    let mut tell = |event: NoteEvent| {
        if let NoteEvent::Off(note) = event {
            heard.push(note);
        }
    };
    let mut last = Seconds(0.0);
    for (at, message) in said {
        last = *at;
        line.take(*message, last, &mut tell);
    }
    line.let_go(end.max(last + LET_GO), &mut tell);
    (heard, line.beside())
}

/// A tick, and what comes at it: a message, or the microseconds of a quarter from there on.
type FromTick<T> = (u64, T);

/// The messages of a file, its lengths of a quarter, and its last tick. `pads` takes in the percussion channel too, which a player may
/// choose for a line.
fn gathered(smf: &Smf<'_>, pads: bool) -> (Vec<FromTick<ChannelMessage>>, Vec<FromTick<u32>>, u64) {
    let (mut said, mut tempi, mut end) = (Vec::new(), Vec::new(), 0);
    for track in &smf.tracks {
        let (mut at, mut held, before) = (0, HeldKeys::default(), said.len());
        for event in track {
            at += u64::from(event.delta.as_int());
            match event.kind {
                TrackEventKind::Midi { channel, message } if pads || channel.as_int() != PERCUSSION => {
                    let (channel, mut tick) = (channel.as_int(), at);
                    let what = match message {
                        MidiMessage::NoteOn { key, vel } if vel.as_int() > 0 => {
                            held.down((channel, key.as_int()), at);
                            KeyMessage::Down { key: key.as_int(), velocity: vel.as_int() }
                        }
                        MidiMessage::NoteOn { key, .. } | MidiMessage::NoteOff { key, .. } => {
                            // A note that ends where it begins, as pads write it, ends after it began.
                            tick += u64::from(held.up((channel, key.as_int()), at) == Some(at));
                            KeyMessage::Up { key: key.as_int() }
                        }
                        MidiMessage::Controller { controller, value } => {
                            KeyMessage::of_controller(controller.as_int(), value.as_int())
                        }
                        MidiMessage::PitchBend { bend } => KeyMessage::Bend { value: bend.0.as_int() },
                        MidiMessage::ChannelAftertouch { vel } => KeyMessage::Pressure { value: vel.as_int() },
                        MidiMessage::Aftertouch { .. } | MidiMessage::ProgramChange { .. } => continue,
                    };
                    said.push((tick, ChannelMessage { channel: channel + 1, what }));
                }
                // A quarter that lasts no time is not a tempo.
                TrackEventKind::Meta(MetaMessage::Tempo(quarter)) if quarter.as_int() > 0 => {
                    tempi.push((at, quarter.as_int()));
                }
                _ => {}
            }
        }
        let of_track = said.split_off(before);
        said.extend(each_ends_its_own(of_track));
        end = end.max(at);
    }
    tempi.sort_by_cached_key(|(at, _)| *at);
    (said, tempi, end)
}

/// The messages of a track in which an edited note may be struck again before it ends: where two ends follow, the first of them is that of
/// the first stroke, which the second has ended already, and is left out.
fn each_ends_its_own(said: Vec<FromTick<ChannelMessage>>) -> Vec<FromTick<ChannelMessage>> {
    let key = |message: &ChannelMessage| match message.what {
        KeyMessage::Down { key, .. } => Some((message.channel, key, true)),
        KeyMessage::Up { key } => Some((message.channel, key, false)),
        _ => None,
    };
    let mut strokes: BTreeMap<(u8, u8), Vec<(usize, bool)>> = BTreeMap::new();
    for (n, (channel, key, down)) in said.iter().enumerate().filter_map(|(n, (_, it))| Some((n, key(it)?))) {
        strokes.entry((channel, key)).or_default().push((n, down));
    }
    let mut out = BTreeSet::new();
    for of_key in strokes.values() {
        let mut open = 0_u32;
        for (place, (n, down)) in of_key.iter().enumerate() {
            let another_end = of_key.get(place + 1).is_some_and(|(_, down)| !down);
            if !down && open > 1 && another_end {
                out.insert(*n);
            }
            open = if *down { open + 1 } else { open.saturating_sub(1) };
        }
    }
    said.into_iter().enumerate().filter(|(n, _)| !out.contains(n)).map(|(_, one)| one).collect()
}

/// The instant of a tick, from the start of the file.
fn seconds(tick: u64, tempi: &[FromTick<u32>], division: f64) -> Seconds {
    let (mut from, mut quarter, mut at) = (0, QUARTER_US, 0.0);
    for &(begins, next) in tempi.iter().take_while(|(begins, _)| *begins < tick) {
        at += (begins - from) as f64 / division * f64::from(quarter) * 1e-6;
        (from, quarter) = (begins, next);
    }
    Seconds(at + (tick - from) as f64 / division * f64::from(quarter) * 1e-6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::heard_to_midi;
    use crate::units::{Decibels, Midi};

    fn note(pitch: f64, onset: f64, release: f64) -> HeardNote {
        let (pitch, onset) = (Midi(pitch), Seconds(onset));
        HeardNote {
            number: 0,
            onset,
            release: Seconds(release),
            pitch,
            spread: None,
            loudness: Decibels(-8.0),
            confidence: 1.0,
            announced: onset,
            announced_pitch: pitch,
        }
    }

    fn line_in(played: &[HeardNote]) -> Vec<HeardNote> {
        played_in_midi(&heard_to_midi(played), LineChoice::default()).unwrap().line
    }

    #[test]
    fn what_was_written_as_midi_is_heard_in_it_at_its_time() {
        let played = [note(60.0, 0.5, 0.9), note(62.0, 1.0, 1.25), note(62.0, 1.25, 2.0)];
        let heard = line_in(&played);
        assert_eq!(heard.len(), 3);
        for (one, other) in played.iter().zip(&heard) {
            assert_eq!(one.pitch, other.pitch);
            assert!(
                (one.onset - other.onset).abs().0 < 0.002 && (one.release - other.release).abs().0 < 0.002,
                "{other:?}"
            );
        }
    }

    #[test]
    fn of_a_chord_the_highest_is_heard_and_a_tempo_that_changes_is_followed() {
        let played = [note(60.0, 0.5, 1.0), note(64.0, 0.5, 1.0), note(67.0, 1.5, 2.0)];
        let heard = line_in(&played);
        let pitches: Vec<f64> = heard.iter().map(|note| note.pitch.0).collect();
        assert_eq!(pitches, [64.0, 67.0]);
        // A quarter of 480 ticks lasts .5 s, then 1 s from the second on, by hand.
        let tempi = [(0, 500_000), (480, 1_000_000)];
        for (tick, at) in [(0, 0.0), (480, 0.5), (960, 1.5), (720, 1.0)] {
            assert_eq!(seconds(tick, &tempi, 480.0), Seconds(at), "{tick}");
        }
        assert_eq!(seconds(960, &[], 480.0), Seconds(1.0));
    }

    #[test]
    fn an_empty_file_and_a_broken_one_say_so() {
        assert_eq!(played_in_midi(&heard_to_midi(&[]), LineChoice::default()), Err(Refused::Empty));
        assert!(matches!(played_in_midi(b"MThd", LineChoice::default()), Err(Refused::Damaged { .. })));
    }
}
