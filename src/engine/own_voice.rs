use crate::engine::audio::CueOutput;
use crate::midi::{ChannelMessage, KeyMessage, level};
use crate::units::{Decibels, Hertz, Midi};

/// Peak of the first notes: [`BELOW_CUE`] below that of the very first cue, because nobody knows yet how loud the voice comes out.
const AT_FIRST: Decibels = Decibels(-36.0);
/// How far the peak of a key stays below that of the cue, which the player has to hear, and the highest peak of a key. All keys
/// together never peak above the cue.
const BELOW_CUE: Decibels = Decibels(6.0);
const LOUDEST: Decibels = Decibels(-24.0);

/// The program's own voice for an instrument that makes no sound: each key as it goes down, softly.
#[derive(Debug)]
pub struct OwnVoice {
    a4: Hertz,
    loudest: Decibels,
}

impl OwnVoice {
    /// A voice that has sounded nothing yet.
    pub const fn new(a4: Hertz) -> Self {
        Self { a4, loudest: AT_FIRST }
    }

    /// A cue sounds with this peak: each key stays at least `BELOW_CUE` below it, and all keys together never peak above it.
    pub fn beside(&mut self, cue: Decibels) {
        self.loudest = (cue - BELOW_CUE).min(LOUDEST);
    }

    /// Sounds a key that goes down and lets go of one that goes up.
    pub fn sound(&self, said: ChannelMessage, out: &mut impl CueOutput) {
        match said.what {
            KeyMessage::Down { key, velocity } => {
                let pitch = Midi(f64::from(key)).hertz(self.a4);
                out.key_down(key, pitch, self.loudest + level(velocity), self.loudest + BELOW_CUE);
            }
            KeyMessage::Up { key } => out.key_up(Some(key)),
            KeyMessage::AllUp => out.key_up(None),
            KeyMessage::Control { .. } | KeyMessage::Bend { .. } | KeyMessage::Pressure { .. } => {}
        }
    }
}
