//! What the settings hold of devices: what was measured of them, and how loud the cues were.

use serde::{Deserialize, Serialize};

use crate::units::Seconds;

/// What remains of the delay after the two clocks were lined up, for one pair of devices and buffer size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// Identifier of the input device.
    pub input: String,
    /// Identifier of the output device.
    pub output: String,
    /// Frames of a buffer.
    pub buffer_frames: u32,
    /// Rest of the delay, which is taken off every onset, in seconds, -2 to 2.
    pub remainder_s: f64,
    /// Median absolute deviation of the repeats, in seconds, 0 to 2.
    pub spread_s: f64,
    /// The delay from the loudspeaker's callback to its sound from which `remainder_s` counts, in seconds, 0 to 3; unset where the
    /// system's own reports of it are followed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ahead_s: Option<f64>,
    /// Whether `ahead_s` is unset because the delay changes from one opening of the loudspeaker to the next. Where both are unset, an
    /// earlier program measured, which knew no such delay.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub follows_reports: bool,
    /// Keys that this program does not know, kept as they are.
    #[serde(flatten)]
    pub rest: toml::Table,
}

/// How loud the cues were that the player answered, for one output device, in headphones or from a loudspeaker.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CueLevel {
    /// Identifier of the output device.
    pub output: String,
    /// Whether the cues went to headphones.
    pub headphones: bool,
    /// Highest peak of the cues in decibels, where 0 is full scale: -30 to -12.
    pub peak_db: f64,
    /// Keys that this program does not know, kept as they are.
    #[serde(flatten)]
    pub rest: toml::Table,
}

impl Calibration {
    /// What was measured for a pair of devices, input first, with buffers of so many frames: the rest of the delay, and its spread.
    #[must_use]
    pub fn new(input: &str, output: &str, buffer_frames: u32, remainder: Seconds, spread: Seconds) -> Self {
        let (input, output) = (input.to_owned(), output.to_owned());
        Self {
            input,
            output,
            buffer_frames,
            remainder_s: remainder.0,
            spread_s: spread.0,
            ahead_s: None,
            follows_reports: false,
            rest: toml::Table::new(),
        }
    }

    /// The same, counted from this delay from callback to sound.
    #[must_use]
    pub fn from(self, ahead: Option<Seconds>) -> Self {
        Self { ahead_s: ahead.map(|ahead| ahead.0), follows_reports: ahead.is_none(), ..self }
    }

    /// Whether an earlier program measured, so that measuring again gives surer times.
    #[must_use]
    pub const fn is_older(&self) -> bool {
        self.ahead_s.is_none() && !self.follows_reports
    }
}
