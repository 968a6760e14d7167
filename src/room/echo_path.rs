use crate::units::Decibels;

/// Whether our own cue is heard in the microphone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Presence {
    /// Not known yet.
    Unknown,
    /// Through a loudspeaker.
    Heard,
    /// Through headphones, or not at all.
    Absent,
}

/// What was learned of the way from the loudspeaker to the microphone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EchoPath {
    /// Whether the cue comes back.
    pub presence: Presence,
    /// Level of the echo against the level of the cue's samples.
    pub gain: Decibels,
}

impl Default for EchoPath {
    fn default() -> Self {
        Self { presence: Presence::Unknown, gain: Decibels(0.0) }
    }
}
