use serde::{Deserialize, Serialize};

use crate::notes::HeardNote;
use crate::session::AnswerRecord;
use crate::session::wire::WireError;
use crate::session::wire::bounds::{self, CENTS, DECIBELS, MIDI, SAMPLES, SECONDS, SHARE};
use crate::units::{Cents, Decibels, Midi, Seconds};
use crate::verdict::TimeOrigin;

/// What was heard for one cue.
#[derive(Serialize, Deserialize)]
pub(super) struct WireAnswered {
    at_s: f64,
    cue: u32,
    clock: WireClock,
    heard: Vec<WireHeard>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    sound: Option<WireSound>,
}

/// What the times of an answer are counted from.
#[derive(Serialize, Deserialize)]
#[serde(tag = "timing", rename_all = "snake_case")]
enum WireClock {
    Free { cue_end_s: f64 },
    InTempo { cue_end_s: f64, beat_zero_s: f64 },
}

/// Where the answer lies in the stored sound.
#[derive(Serialize, Deserialize)]
struct WireSound {
    first_sample: u64,
    samples: u64,
}

/// One heard note.
#[derive(Serialize, Deserialize)]
pub(super) struct WireHeard {
    number: u32,
    onset_s: f64,
    release_s: f64,
    midi: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    spread_cents: Option<f64>,
    loudness_db: f64,
    confidence: f64,
    announced_s: f64,
    announced_midi: f64,
}

impl From<&AnswerRecord> for WireAnswered {
    fn from(answer: &AnswerRecord) -> Self {
        Self {
            at_s: SECONDS.put(answer.at.0),
            cue: answer.cue,
            clock: answer.clock.into(),
            heard: answer.heard.iter().take(bounds::NOTES).map(WireHeard::from).collect(),
            sound: answer
                .sound
                .map(|(first, count)| WireSound { first_sample: first.min(SAMPLES), samples: count.min(SAMPLES) }),
        }
    }
}

impl TryFrom<WireAnswered> for AnswerRecord {
    type Error = WireError;
    fn try_from(wire: WireAnswered) -> Result<Self, WireError> {
        let heard = bounds::list(wire.heard, bounds::NOTES)?;
        if wire.sound.as_ref().is_some_and(|s| s.first_sample > SAMPLES || s.samples > SAMPLES) {
            return Err(WireError("a place in the sound beyond any length".to_owned()));
        }
        Ok(Self {
            at: Seconds(SECONDS.take(wire.at_s)?),
            cue: wire.cue,
            clock: wire.clock.try_into()?,
            heard: heard.into_iter().map(HeardNote::try_from).collect::<Result<_, _>>()?,
            sound: wire.sound.map(|s| (s.first_sample, s.samples)),
        })
    }
}

impl From<TimeOrigin> for WireClock {
    fn from(clock: TimeOrigin) -> Self {
        match clock {
            TimeOrigin::Free { cue_end } => Self::Free { cue_end_s: SECONDS.put(cue_end.0) },
            TimeOrigin::InTempo { cue_end, beat_zero } => {
                Self::InTempo { cue_end_s: SECONDS.put(cue_end.0), beat_zero_s: SECONDS.put(beat_zero.0) }
            }
        }
    }
}

impl TryFrom<WireClock> for TimeOrigin {
    type Error = WireError;
    fn try_from(wire: WireClock) -> Result<Self, WireError> {
        Ok(match wire {
            WireClock::Free { cue_end_s } => Self::Free { cue_end: Seconds(SECONDS.take(cue_end_s)?) },
            WireClock::InTempo { cue_end_s, beat_zero_s } => Self::InTempo {
                cue_end: Seconds(SECONDS.take(cue_end_s)?),
                beat_zero: Seconds(SECONDS.take(beat_zero_s)?),
            },
        })
    }
}

impl From<&HeardNote> for WireHeard {
    fn from(note: &HeardNote) -> Self {
        Self {
            number: note.number,
            onset_s: SECONDS.put(note.onset.0),
            release_s: SECONDS.put(note.release.0),
            midi: MIDI.put(note.pitch.0),
            spread_cents: CENTS.put_some(note.spread.map(|c| c.0)),
            loudness_db: DECIBELS.put(note.loudness.0),
            confidence: SHARE.put(note.confidence),
            announced_s: SECONDS.put(note.announced.0),
            announced_midi: MIDI.put(note.announced_pitch.0),
        }
    }
}

impl TryFrom<WireHeard> for HeardNote {
    type Error = WireError;
    fn try_from(wire: WireHeard) -> Result<Self, WireError> {
        Ok(Self {
            number: wire.number,
            onset: Seconds(SECONDS.take(wire.onset_s)?),
            release: Seconds(SECONDS.take(wire.release_s)?),
            pitch: Midi(MIDI.take(wire.midi)?),
            spread: CENTS.take_some(wire.spread_cents)?.map(Cents),
            loudness: Decibels(DECIBELS.take(wire.loudness_db)?),
            confidence: SHARE.take(wire.confidence)?,
            announced: Seconds(SECONDS.take(wire.announced_s)?),
            announced_pitch: Midi(MIDI.take(wire.announced_midi)?),
        })
    }
}
