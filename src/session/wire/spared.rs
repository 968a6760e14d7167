use serde::{Deserialize, Serialize};

use crate::coach::SparedTurn;
use crate::pattern::PatternId;
use crate::session::SparedRecord;
use crate::session::wire::WireError;
use crate::session::wire::bounds::{self, SECONDS};
use crate::units::Seconds;

/// A turn away from the instrument. An older program passes over it, because it says that it is an aside.
#[derive(Serialize, Deserialize)]
pub(super) struct WireSpared {
    aside: bool,
    at_s: f64,
    turn: WireTurn,
    pattern: String,
    concert_key: String,
    /// Left out where the turn was not broken off.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    left: bool,
}

#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum WireTurn {
    Sing,
    Finger,
}

impl From<&SparedRecord> for WireSpared {
    fn from(spared: &SparedRecord) -> Self {
        Self {
            aside: true,
            at_s: SECONDS.put(spared.at.0),
            turn: match spared.turn {
                SparedTurn::Sing => WireTurn::Sing,
                SparedTurn::Finger => WireTurn::Finger,
            },
            pattern: bounds::put_text(&spared.pattern.0),
            concert_key: spared.key.name().to_owned(),
            left: spared.left,
        }
    }
}

impl TryFrom<WireSpared> for SparedRecord {
    type Error = WireError;
    fn try_from(wire: WireSpared) -> Result<Self, WireError> {
        Ok(Self {
            at: Seconds(SECONDS.take(wire.at_s)?),
            turn: match wire.turn {
                WireTurn::Sing => SparedTurn::Sing,
                WireTurn::Finger => SparedTurn::Finger,
            },
            pattern: PatternId(bounds::take_text(wire.pattern)?),
            key: bounds::key(&wire.concert_key)?,
            left: wire.left,
        })
    }
}
