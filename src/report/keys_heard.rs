use serde_json::{Value, json};

use crate::notes::HeardNote;
use crate::units::{Midi, Seconds};

/// What came from a MIDI instrument while it was checked.
#[derive(Debug, Clone, PartialEq)]
pub struct KeysHeard {
    /// Number of notes.
    pub notes: usize,
    /// The lowest and the highest note.
    pub pitches: Option<(Midi, Midi)>,
    /// The softest and the loudest velocity, 1 to 127.
    pub velocities: Option<(u8, u8)>,
    /// How unevenly the messages of the last twenty seconds arrived; `None` where fewer than eight came, or without times.
    pub jitter: Option<Seconds>,
    /// Whether the driver gives no times.
    pub unstamped: bool,
    /// Whether some keys were left out, because only one of the keys that sound together counts.
    pub several: bool,
    /// Number of keys that were left out because they were only brushed.
    pub brushed: u32,
    /// Number of keys beyond those that are listened to.
    pub outside: u32,
    /// The channels on which keys came, listened to or not.
    pub channels: Vec<u8>,
}

impl KeysHeard {
    /// Counts the notes that began; nothing was left out, and no channel is known.
    #[must_use]
    pub fn of(heard: &[HeardNote], jitter: Option<Seconds>, unstamped: bool) -> Self {
        let pitches = heard.iter().map(|note| note.pitch);
        let velocities = heard.iter().map(velocity);
        Self {
            notes: heard.len(),
            pitches: pitches.clone().reduce(Midi::min).zip(pitches.reduce(Midi::max)),
            velocities: velocities.clone().min().zip(velocities.max()),
            jitter,
            unstamped,
            several: false,
            brushed: 0,
            outside: 0,
            channels: Vec::new(),
        }
    }
}

/// The velocity that the level of a key's note was made from (`midi::level`).
#[must_use]
pub fn velocity(note: &HeardNote) -> u8 {
    (127.0 * 10f64.powf(note.loudness.0 / 40.0)).round() as u8
}

/// What came, as JSON; units stand in the names.
#[must_use]
pub fn keys_heard_json(heard: &KeysHeard) -> Value {
    json!({
        "notes": heard.notes, "midi_range": heard.pitches.map(|(low, high)| [low.0, high.0]),
        "velocity_range": heard.velocities, "jitter_ms": heard.jitter.map(Seconds::ms), "driver_times": !heard.unstamped,
        "several_keys": heard.several, "brushed_keys": heard.brushed, "keys_outside": heard.outside,
        "channels": heard.channels,
    })
}
