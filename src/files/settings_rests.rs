use serde::{Deserialize, Serialize};

use crate::coach::Spared;
use crate::units::Seconds;

/// How lips, voice and hands are spared, where it differs from the usual: the teacher's plan comes first. A name that is not one of
/// these is an error, because a misspelt name would set no rest.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct RestSettings {
    /// Lips and voice (or hands, where it is set for them) sound at most this share of any five minutes; 1 sets no limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sounding_share: Option<f64>,
    /// Minutes to the first, short rest; 0 for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_minutes: Option<f64>,
    /// Minutes to the first later rest, and from one to the next; 0 for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub between_minutes: Option<f64>,
    /// Whether cues are now and then to be sung or fingered in silence; they are where nothing is set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sing_and_finger: Option<bool>,
    /// Minutes from the beginning in which nothing lies in the top third of the range; 0 for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low_minutes: Option<f64>,
}

impl RestSettings {
    /// Whether nothing is set.
    pub(super) fn is_usual(&self) -> bool {
        *self == Self::default()
    }

    /// The rests that go by the clock, with the usual ones where nothing is set.
    #[must_use]
    pub fn spared(&self) -> Spared {
        let after = |set: Option<f64>, usual: Option<Seconds>| match set {
            Some(minutes) => (minutes > 0.0).then_some(Seconds(60.0 * minutes)),
            None => usual,
        };
        Spared {
            first: after(self.first_minutes, Spared::USUAL.first),
            between: after(self.between_minutes, Spared::USUAL.between),
            low: self.low_minutes.map_or(Spared::USUAL.low, |minutes| Seconds(60.0 * minutes)),
        }
    }

    /// The share of any five minutes that may sound, with `usual` where none is set; `None` is no limit.
    #[must_use]
    pub fn share(&self, usual: Option<f64>) -> Option<f64> {
        self.sounding_share.or(usual).filter(|share| *share < 1.0)
    }

    /// Checks the values; the error says which value is wrong.
    pub(super) fn check(&self) -> Result<(), String> {
        inside("rests.sounding_share", self.sounding_share, 0.1, 1.0)?;
        inside("rests.first_minutes", self.first_minutes, 0.0, 120.0)?;
        inside("rests.low_minutes", self.low_minutes, 0.0, 120.0)?;
        // 0 turns these rests off; below 10 minutes there would be more rest than anybody wants.
        let between = self.between_minutes.filter(|minutes| *minutes != 0.0);
        inside("rests.between_minutes", between, 10.0, 120.0).map_err(|why| format!("{why}, nor 0 for no such rest"))
    }
}

/// Checks that a number, where it is set, lies within its bounds; the error names it.
pub(super) fn inside(name: &str, value: Option<f64>, low: f64, high: f64) -> Result<(), String> {
    match value {
        Some(value) if !(low..=high).contains(&value) => Err(format!("{name} = {value} is not {low} to {high}")),
        _ => Ok(()),
    }
}
