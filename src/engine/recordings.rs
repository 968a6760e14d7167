use crate::engine::audio::AudioSource;
use crate::engine::listener::{HeardBlock, Listener};
use crate::files::{FileError, Recording};
use crate::music::Instrument;
use crate::notes::{Ear, EarSettings, Frame, HeardNote, NoteEvent};
use crate::room::Echo;
use crate::sound::SoundBlock;
use crate::units::{Hertz, SampleRate, Seconds, rank};

/// Number of samples in a block, as a sound card would give them, so that a figure of a recording is the figure of live sound.
const BLOCK: usize = 512;
/// Lowest and highest pitch of the search where no instrument is named, so that it reaches from a tuba to a piccolo's high C (4186
/// Hz).
const EVERYTHING: (Hertz, Hertz) = (Hertz(27.0), Hertz(4300.0));
/// Room below and above an instrument's range, as factors of its lowest and highest pitch: a major third each (2^(4/12) = 1.26).
const TO_SPARE: (f64, f64) = (0.79, 1.26);

/// An ear for a recording or a microphone. The range of an advanced player of the instrument, with a major third to spare either way,
/// bounds the search; `EVERYTHING` bounds it always.
#[must_use]
pub fn ear_settings(rate: SampleRate, a4: Hertz, instrument: Option<&Instrument>) -> EarSettings {
    let (lowest, highest) = instrument.map_or(EVERYTHING, |instrument| {
        let (low, high) = (instrument.advanced.low.hertz(a4).0, instrument.advanced.high.hertz(a4).0);
        (Hertz((low * TO_SPARE.0).max(EVERYTHING.0.0)), Hertz((high * TO_SPARE.1).min(EVERYTHING.1.0)))
    });
    EarSettings { rate, lowest, highest, a4 }
}

/// Hands out a recording in the blocks of a sound card, whatever blocks its file has.
///
/// # Errors
/// When the file can be read no further.
fn play_in_blocks(recording: &Recording, hear: &mut dyn FnMut(&[f32])) -> Result<(), FileError> {
    let mut block: Vec<f32> = Vec::with_capacity(BLOCK);
    recording.play(&mut |samples| {
        for sample in samples {
            block.push(*sample);
            if block.len() == BLOCK {
                hear(&block);
                block.clear();
            }
        }
    })?;
    if !block.is_empty() {
        hear(&block);
    }
    Ok(())
}

/// Listens to a recording as to a microphone, and hands out every block; gives what became known of the notes at its end.
///
/// # Errors
/// When the file can be read no further.
pub fn listen_to_recording(
    settings: EarSettings,
    recording: &Recording,
    heard: &mut dyn FnMut(HeardBlock<'_>),
) -> Result<Vec<NoteEvent>, FileError> {
    let rate = recording.rate;
    let audio = OneBlock { at: Seconds(0.0), rate, samples: Vec::new() };
    let mut listener = Listener::new(settings, Echo::new(rate), audio).keeping_no_sound();
    play_in_blocks(recording, &mut |block| {
        listener.audio().samples.extend_from_slice(block);
        while let Some(block) = listener.hear() {
            heard(block);
        }
    })?;
    Ok(listener.finish().to_vec())
}

/// The newest block of a recording.
struct OneBlock {
    at: Seconds,
    rate: SampleRate,
    samples: Vec<f32>,
}

impl AudioSource for OneBlock {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        into.clear();
        into.append(&mut self.samples);
        let block = SoundBlock { at: self.at, rate: self.rate, gap: Seconds(0.0) };
        self.at = self.at + self.rate.seconds(into.len());
        (!into.is_empty()).then_some(block)
    }
}

/// What an ear hears in a recording, both in order of time: its frames where `keep_frames` says so (else none), and its notes.
///
/// # Errors
/// When the file can be read no further.
pub fn hear_recording(
    settings: &EarSettings,
    recording: &Recording,
    keep_frames: bool,
) -> Result<(Vec<Frame>, Vec<HeardNote>), FileError> {
    let mut ear = Ear::new(settings);
    let (mut frames, mut notes) = (Vec::new(), Vec::new());
    let mut on_frame = |frame: &Frame| {
        if keep_frames {
            frames.push(*frame);
        }
    };
    let mut on_note = |event: &NoteEvent| {
        if let NoteEvent::Off(note) = event {
            notes.push(*note);
        }
    };
    play_in_blocks(recording, &mut |block| ear.hear(block, &mut on_frame, &mut on_note))?;
    ear.finish(&mut on_frame, &mut on_note);
    notes.sort_by_cached_key(|note| rank(note.onset.0));
    // A frame's time is the middle of its window, and the windows of low notes are longer.
    frames.sort_by_cached_key(|frame| rank(frame.at.0));
    Ok((frames, notes))
}
