use crate::units::{Decibels, Hertz, Seconds};

/// One thing that spoils (or may spoil) the input, with the numbers that say so; the words are made elsewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum InputIssue {
    /// Playing peaks below -30 dB: the player should go nearer or turn the input up.
    TooSoft {
        /// The highest peak so far.
        peak: Decibels,
    },
    /// Three samples or more lay at full scale: the player should turn the input down or go farther off.
    Clipping {
        /// Number of samples at full scale.
        samples: u64,
    },
    /// The noise of the quiet room lies above -50 dB, its hum not counted.
    Noisy {
        /// The noise floor, without hum.
        floor: Decibels,
    },
    /// Mains hum stands out of the noise and lies above -75 dB.
    Hum {
        /// Frequency of the mains, 50 or 60 Hz.
        mains: Hertz,
        /// Level of the hum, its first twelve harmonics together where they stand out.
        level: Decibels,
    },
    /// The noise rises by more than 5 dB in pauses after loud notes, in two at least and in most of them: an automatic gain control.
    GainControl {
        /// Median rise of the noise in the pauses.
        rise: Decibels,
    },
    /// The noise vanishes between notes: a gate or a noise suppressor.
    Gate {
        /// Median level between notes, lower than any room's.
        between: Decibels,
    },
    /// The input has given nothing but exact zeros for two seconds or more.
    Zeros {
        /// Time since the beginning in which nothing but zeros came.
        lasting: Seconds,
    },
    /// There is no sound above the band of a wireless headset's microphone, which is late and narrow.
    Wireless {
        /// Frequency above which there is no sound.
        above: Hertz,
    },
}
