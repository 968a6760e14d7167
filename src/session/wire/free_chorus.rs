use serde::{Deserialize, Serialize};

use crate::notes::HeardNote;
use crate::session::ChorusRecord;
use crate::session::wire::WireError;
use crate::session::wire::answered::WireHeard;
use crate::session::wire::began;
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
        }
    }
}

impl TryFrom<WireChorus> for ChorusRecord {
    type Error = WireError;
    fn try_from(wire: WireChorus) -> Result<Self, WireError> {
        let heard = bounds::list(wire.heard, bounds::NOTES)?;
        let [begins, ends] = [Seconds(SECONDS.take(wire.begins_s)?), Seconds(SECONDS.take(wire.ends_s)?)];
        if ends.0 <= begins.0 {
            return Err(WireError("a chorus that ends before it begins".to_owned()));
        }
        Ok(Self {
            at: Seconds(SECONDS.take(wire.at_s)?),
            chorus: wire.chorus,
            key: began::key(&wire.concert_key)?,
            begins,
            ends,
            heard: heard.into_iter().map(HeardNote::try_from).collect::<Result<_, _>>()?,
        })
    }
}
