use crate::sound::Clip;
use crate::units::Seconds;

/// A stretch of sound as a microphone gave it, our own sound still in it, for whoever keeps it.
#[derive(Debug, Clone, PartialEq)]
pub struct InputStretch {
    /// The samples; short holes are silence.
    pub clip: Clip,
    /// Instant of the first sample.
    pub from: Seconds,
    /// Instant after the last sample.
    pub until: Seconds,
    /// Whether it goes on where the stretch before ended, and no sound is missing in it.
    pub whole: bool,
}
