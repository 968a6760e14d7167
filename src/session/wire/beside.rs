use serde::{Deserialize, Serialize};

use crate::cue::{SecondTask, SoftTap, TapSound};
use crate::session::wire::WireError;
use crate::session::wire::bounds::{self, QUARTERS};
use crate::units::Beats;

/// A second task beside an answer.
#[derive(Serialize, Deserialize)]
pub(super) struct WireSecondTask {
    block: u32,
    /// Left out where the taps are let pass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    count: Option<WireTapSound>,
    taps: Vec<WireTap>,
}

#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum WireTapSound {
    Wood,
    Brush,
}

#[derive(Serialize, Deserialize)]
struct WireTap {
    at_quarters: f64,
    sound: WireTapSound,
}

impl From<&SecondTask> for WireSecondTask {
    fn from(task: &SecondTask) -> Self {
        let tap = |tap: &SoftTap| WireTap { at_quarters: QUARTERS.put(tap.at.0), sound: tap.sound.into() };
        Self {
            block: task.block,
            count: task.counted.map(Into::into),
            taps: task.taps.iter().take(bounds::NOTES).map(tap).collect(),
        }
    }
}

impl TryFrom<WireSecondTask> for SecondTask {
    type Error = WireError;
    fn try_from(wire: WireSecondTask) -> Result<Self, WireError> {
        let tap = |tap: WireTap| Ok(SoftTap { at: Beats(QUARTERS.take(tap.at_quarters)?), sound: tap.sound.into() });
        let taps = bounds::list(wire.taps, bounds::NOTES)?.into_iter().map(tap);
        Ok(Self {
            block: wire.block,
            counted: wire.count.map(Into::into),
            taps: taps.collect::<Result<_, WireError>>()?,
        })
    }
}

impl From<TapSound> for WireTapSound {
    fn from(sound: TapSound) -> Self {
        match sound {
            TapSound::Wood => Self::Wood,
            TapSound::Brush => Self::Brush,
        }
    }
}

impl From<WireTapSound> for TapSound {
    fn from(wire: WireTapSound) -> Self {
        match wire {
            WireTapSound::Wood => Self::Wood,
            WireTapSound::Brush => Self::Brush,
        }
    }
}
