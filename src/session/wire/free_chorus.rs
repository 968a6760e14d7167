use serde::{Deserialize, Serialize};

use crate::coach::CameOut;
use crate::music::ConcertKey;
use crate::notes::HeardNote;
use crate::pattern::PatternId;
use crate::session::ChorusRecord;
use crate::session::wire::WireError;
use crate::session::wire::answered::WireHeard;
use crate::session::wire::bounds::{self, SECONDS};
use crate::units::Seconds;

/// What was heard in a free chorus.
#[derive(Serialize, Deserialize)]
pub(super) struct WireChorus {
    at_s: f64,
    chorus: u32,
    concert_key: String,
    begins_s: f64,
    ends_s: f64,
    heard: Vec<WireHeard>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    drilled: Vec<WireCameOut>,
}

/// A drilled pattern that was looked for.
#[derive(Serialize, Deserialize)]
struct WireCameOut {
    pattern: String,
    title: String,
    since_day: i32,
    held_keys: u32,
    concert_keys: Vec<String>,
    /// Left out where it broke off nowhere.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    broke_off_in: Vec<String>,
}

impl From<&CameOut> for WireCameOut {
    fn from(it: &CameOut) -> Self {
        let names = |keys: &[ConcertKey]| keys.iter().take(12).map(|key| key.name().to_owned()).collect();
        Self {
            pattern: bounds::put_text(&it.pattern.0),
            title: bounds::put_text(&it.title),
            since_day: it.since.clamp(-bounds::DAYS, bounds::DAYS),
            held_keys: it.held.min(12),
            concert_keys: names(&it.keys),
            broke_off_in: names(&it.broke),
        }
    }
}

impl TryFrom<WireCameOut> for CameOut {
    type Error = WireError;
    fn try_from(wire: WireCameOut) -> Result<Self, WireError> {
        let keys = |names: Vec<String>| {
            bounds::list(names, 12)?.iter().map(|name| bounds::key(name)).collect::<Result<Vec<_>, _>>()
        };
        Ok(Self {
            pattern: PatternId(bounds::take_text(wire.pattern)?),
            title: bounds::take_text(wire.title)?,
            since: bounds::whole(wire.since_day, bounds::DAYS)?,
            held: wire.held_keys.min(12),
            keys: keys(wire.concert_keys)?,
            broke: keys(wire.broke_off_in)?,
        })
    }
}

impl From<&ChorusRecord> for WireChorus {
    fn from(chorus: &ChorusRecord) -> Self {
        Self {
            at_s: SECONDS.put(chorus.at.0),
            chorus: chorus.chorus,
            concert_key: chorus.key.name().to_owned(),
            begins_s: SECONDS.put(chorus.begins.0),
            ends_s: SECONDS.put(chorus.ends.0),
            heard: chorus.heard.iter().take(bounds::NOTES).map(WireHeard::from).collect(),
            drilled: chorus.drilled.iter().take(bounds::PATTERNS).map(WireCameOut::from).collect(),
        }
    }
}

impl TryFrom<WireChorus> for ChorusRecord {
    type Error = WireError;
    fn try_from(wire: WireChorus) -> Result<Self, WireError> {
        let heard = bounds::list(wire.heard, bounds::NOTES)?;
        let drilled = bounds::list(wire.drilled, bounds::PATTERNS)?;
        let [begins, ends] = bounds::span(wire.begins_s, wire.ends_s)?;
        Ok(Self {
            at: Seconds(SECONDS.take(wire.at_s)?),
            chorus: wire.chorus,
            key: bounds::key(&wire.concert_key)?,
            begins,
            ends,
            heard: heard.into_iter().map(HeardNote::try_from).collect::<Result<_, _>>()?,
            drilled: drilled.into_iter().map(CameOut::try_from).collect::<Result<_, _>>()?,
        })
    }
}
