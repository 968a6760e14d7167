use crate::midi::{KeySpan, Steering};

/// The note of a chord that counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum WhichOfChord {
    /// The highest.
    #[default]
    Highest,
    /// The lowest.
    Lowest,
}

/// What of an instrument is listened to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LineChoice {
    /// The channel, 1 to 16; `None` for all.
    pub channel: Option<u8>,
    /// The keys; `None` for all.
    pub keys: Option<KeySpan>,
    /// The note of a chord that counts.
    pub of_chord: WhichOfChord,
    /// Whether the player tunes by pitch bend, so that intonation is judged.
    pub bend: bool,
    /// Whether breath or pressure is the level, and not how fast a key goes down.
    pub breath: bool,
    /// What keys and pedals ask for; such a key is not played.
    pub steering: Steering,
}
