//! Names of notes and keys as they stand on the player's page.

use crate::music::{Concert, ConcertKey, Instrument, spell};

/// Who the words are for, and about which cue.
#[derive(Debug, Clone, Copy)]
pub struct Reader<'a> {
    /// The player's instrument: it decides what stands on the page.
    pub instrument: &'a Instrument,
    /// The key of the cue, as it sounds.
    pub key: ConcertKey,
    /// The delay of the devices was measured, so that reflex times are measurements.
    pub calibrated: bool,
    /// Gb is read rather than F#.
    pub g_flat: bool,
}

impl Reader<'_> {
    /// The name on the page of a sounding pitch, without its octave: for a trumpet in Bb a sounding Eb is "F".
    #[must_use]
    pub fn note(&self, pitch: Concert) -> String {
        let key = self.instrument.written_key(self.key);
        spell(self.instrument.written(pitch), key, self.g_flat).name().to_string()
    }
    /// The name on the page of a sounding key.
    #[must_use]
    pub fn key(&self, key: ConcertKey) -> &'static str {
        self.instrument.written_key(key).name(self.g_flat)
    }
}
