use crate::units::{Decibels, Hertz, Seconds};

/// One thing that spoils (or may spoil) the input, with the numbers that say so; the words are made elsewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Opinion {
    /// Playing peaks below -30 dB: go nearer or turn the input up.
    TooSoft {
        /// The highest peak.
        peak: Decibels,
    },
    /// Samples lie at full scale: turn the input down or go farther off.
    Clipping {
        /// How many samples.
        samples: u64,
    },
    /// The quiet room lies above -50 dB.
    Noisy {
        /// The noise floor.
        floor: Decibels,
    },
    /// Mains hum stands out of the noise.
    Hum {
        /// 50 or 60 Hz.
        mains: Hertz,
        /// Its level, first harmonics together.
        level: Decibels,
    },
    /// The noise rises in pauses after loud notes: an automatic gain control.
    GainControl {
        /// By how much it rises.
        rise: Decibels,
    },
    /// The noise vanishes between notes: a gate or a noise suppressor.
    Gate {
        /// The level between notes.
        between: Decibels,
    },
    /// Nothing but exact zeros.
    Zeros {
        /// For how long.
        lasting: Seconds,
    },
    /// No sound above the band of a wireless headset's microphone: it is late and narrow.
    Wireless {
        /// Where the sound ends.
        above: Hertz,
    },
}
