use clap::ValueEnum;

use crate::midi::Steer;

/// What a key or a pedal of a MIDI instrument can be taught to ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ToTeach {
    /// Pause, or go on.
    Pause,
    /// The same cue again.
    Again,
    /// The answer was misheard.
    Misheard,
}

impl From<ToTeach> for Steer {
    fn from(taught: ToTeach) -> Self {
        match taught {
            ToTeach::Pause => Self::Pause,
            ToTeach::Again => Self::Again,
            ToTeach::Misheard => Self::Misheard,
        }
    }
}
