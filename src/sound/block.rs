use crate::units::{SampleRate, Seconds};

/// Where a stretch of input without a hole lies; its samples are given beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundBlock {
    /// Instant of the first sample, on the input's clock, which goes on over gaps and over lost and reopened devices.
    pub at: Seconds,
    /// Samples a second in this block; a device that was opened again may have another rate than before.
    pub rate: SampleRate,
    /// Length of the sound that is missing just before the block: lost samples, or a time without a device. Usually 0.
    pub gap: Seconds,
}
