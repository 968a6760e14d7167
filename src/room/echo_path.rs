use crate::units::Decibels;

/// Whether our own cue is heard in the microphone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Presence {
    /// Whether the cue is heard is not known yet, or no longer.
    Unknown,
    /// The cue is heard, through a loudspeaker.
    Heard,
    /// The cue is not heard: it goes to headphones, or nowhere.
    Absent,
}

/// What was learned of the path from the loudspeaker through the room to the microphone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EchoPath {
    /// Whether the cue comes back.
    pub presence: Presence,
    /// Level of the echo against the level of the cue's samples, in decibels; 0 before the gain is known.
    pub gain: Decibels,
}

impl Default for EchoPath {
    fn default() -> Self {
        Self { presence: Presence::Unknown, gain: Decibels(0.0) }
    }
}
