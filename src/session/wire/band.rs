use serde::{Deserialize, Serialize};

use crate::pattern::{ExpectedNote, Line};
use crate::session::wire::WireError;
use crate::session::wire::bounds::{self, DECIBELS, PACE, QUARTERS, SAMPLES, SECONDS};
use crate::session::wire::cued::WireExpected;
use crate::session::wire::words::{WireBass, WirePulse, WireWay};
use crate::session::{BandMark, BandRecord, RecordedPhrase, RecordedSound};
use crate::units::{Beats, Decibels, Seconds};

/// What the band of a trade plays.
#[derive(Serialize, Deserialize)]
pub(super) struct WireBandMark {
    form: String,
    concert_keys: Vec<String>,
    way: WireWay,
    swing: bool,
    /// Left out where there is no bass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    bass: Option<WireBass>,
    chords: bool,
    /// Left out where nothing marks the time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pulse: Option<WirePulse>,
    level_db: f64,
    sounds: u32,
}

/// A chorus of a trade. An older program passes over it, because it says that it is an aside.
#[derive(Serialize, Deserialize)]
pub(super) struct WireBand {
    aside: bool,
    at_s: f64,
    chorus: u32,
    from_chorus: u32,
    lead_in_s: f64,
    clock_ratio: f64,
    begins_s: f64,
    ends_s: f64,
    phrases: Vec<WirePhrase>,
    /// Left out where no sound was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    sound: Option<WireInput>,
}

/// A phrase that sounded.
#[derive(Serialize, Deserialize)]
struct WirePhrase {
    cue: u32,
    first_bar: u32,
    line: Vec<WireExpected>,
    line_length_quarters: f64,
}

/// What the microphone heard.
#[derive(Serialize, Deserialize)]
struct WireInput {
    first_sample: u64,
    samples: u64,
    begins_s: f64,
    ends_s: f64,
}

impl From<&BandMark> for WireBandMark {
    fn from(band: &BandMark) -> Self {
        Self {
            form: bounds::put_text(&band.form),
            concert_keys: bounds::names(band.keys.iter().take(bounds::CHORUSES)),
            way: band.way.into(),
            swing: band.swing,
            bass: band.bass.map(Into::into),
            chords: band.chords,
            pulse: band.pulse.map(Into::into),
            level_db: DECIBELS.put(band.level.0),
            sounds: band.sounds,
        }
    }
}

impl TryFrom<WireBandMark> for BandMark {
    type Error = WireError;
    fn try_from(wire: WireBandMark) -> Result<Self, WireError> {
        let keys = bounds::list(wire.concert_keys, bounds::CHORUSES)?;
        Ok(Self {
            form: bounds::take_text(wire.form)?,
            keys: keys.iter().map(|name| bounds::key(name)).collect::<Result<_, _>>()?,
            way: wire.way.into(),
            swing: wire.swing,
            bass: wire.bass.map(Into::into),
            chords: wire.chords,
            pulse: wire.pulse.map(Into::into),
            level: Decibels(DECIBELS.take(wire.level_db)?),
            sounds: wire.sounds,
        })
    }
}

impl From<&BandRecord> for WireBand {
    fn from(band: &BandRecord) -> Self {
        Self {
            aside: true,
            at_s: SECONDS.put(band.at.0),
            chorus: band.chorus,
            from_chorus: band.from,
            lead_in_s: SECONDS.put(band.lead_in.0),
            clock_ratio: PACE.put(band.faster),
            begins_s: SECONDS.put(band.begins.0),
            ends_s: SECONDS.put(band.ends.0),
            phrases: band.phrases.iter().take(bounds::CHORUSES).map(WirePhrase::from).collect(),
            sound: band.sound.map(|sound| WireInput {
                first_sample: sound.first.min(SAMPLES),
                samples: sound.count.min(SAMPLES),
                begins_s: SECONDS.put(sound.from.0),
                ends_s: SECONDS.put(sound.until.0),
            }),
        }
    }
}

impl TryFrom<WireBand> for BandRecord {
    type Error = WireError;
    fn try_from(wire: WireBand) -> Result<Self, WireError> {
        let phrases = bounds::list(wire.phrases, bounds::CHORUSES)?;
        let [begins, ends] = bounds::span(wire.begins_s, wire.ends_s)?;
        Ok(Self {
            at: Seconds(SECONDS.take(wire.at_s)?),
            chorus: wire.chorus,
            from: wire.from_chorus,
            lead_in: Seconds(SECONDS.take(wire.lead_in_s)?),
            faster: PACE.take(wire.clock_ratio)?,
            begins,
            ends,
            phrases: phrases.into_iter().map(RecordedPhrase::try_from).collect::<Result<_, _>>()?,
            sound: wire.sound.map(RecordedSound::try_from).transpose()?,
        })
    }
}

impl From<&RecordedPhrase> for WirePhrase {
    fn from(phrase: &RecordedPhrase) -> Self {
        Self {
            cue: phrase.cue,
            first_bar: phrase.first_bar,
            line: phrase.line.notes.iter().take(bounds::NOTES).map(WireExpected::from).collect(),
            line_length_quarters: QUARTERS.put(phrase.line.length.0),
        }
    }
}

impl TryFrom<WirePhrase> for RecordedPhrase {
    type Error = WireError;
    fn try_from(wire: WirePhrase) -> Result<Self, WireError> {
        let notes = bounds::list(wire.line, bounds::NOTES)?;
        let notes = notes.into_iter().map(ExpectedNote::try_from).collect::<Result<_, _>>()?;
        let line = Line { notes, length: Beats(QUARTERS.take(wire.line_length_quarters)?) };
        Ok(Self { cue: wire.cue, first_bar: wire.first_bar, line })
    }
}

impl TryFrom<WireInput> for RecordedSound {
    type Error = WireError;
    fn try_from(wire: WireInput) -> Result<Self, WireError> {
        if wire.first_sample > SAMPLES || wire.samples > SAMPLES {
            return Err(WireError("a place in the sound beyond any length".to_owned()));
        }
        let [from, until] = [Seconds(SECONDS.take(wire.begins_s)?), Seconds(SECONDS.take(wire.ends_s)?)];
        Ok(Self { first: wire.first_sample, count: wire.samples, from, until })
    }
}
