//! Names of notes and keys as they stand on the player's page.

use crate::music::{Concert, ConcertKey, Instrument, Spelled, Tonality, Written, WrittenKey, spell, spell_on};
use crate::pattern::ExpectedNote;

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
    /// The name on the page of a note that was asked, without its octave: by its function, where that is known.
    #[must_use]
    pub fn asked(&self, note: &ExpectedNote) -> String {
        let key = self.instrument.written_key(self.key);
        asked(note, self.instrument.written(note.pitch), key, self.g_flat).name().to_string()
    }
    /// The name on the page of a sounding key.
    #[must_use]
    pub fn key(&self, key: ConcertKey) -> &'static str {
        self.instrument.written_key(key).name(self.g_flat)
    }
}

/// The name of a note that was asked, written in a key: the seventh of Cdim7 is Bbb and no A.
#[must_use]
pub fn asked(note: &ExpectedNote, written: Written, key: WrittenKey, g_flat: bool) -> Spelled {
    match note.letters {
        Some(letters) => spell_on(Tonality::major(key.0, g_flat).tonic, letters, written.0),
        None => spell(written, key, g_flat),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::instrument;
    use crate::pattern::{Library, PatternId, Register, realise};

    #[test]
    fn the_tones_of_a_chord_are_named_by_their_function_in_the_sentence_too() {
        // Chord spelling of any harmony handbook (from memory): the seventh of a diminished chord is doubly flattened, an
        // augmented fifth is a raised one.
        for (pattern, key, wanted) in [
            ("seventh-chord-up-dim7", "C", "C Eb Gb Bbb"),
            ("seventh-chord-up-maj7-sharp5", "Eb", "Eb G B D"),
            ("seventh-chord-up-m7b5", "B", "B D F A"),
        ] {
            let piano = instrument("piano").unwrap();
            let key = piano.concert_key(WrittenKey::parse(key).unwrap());
            let pattern = Library::builtin().get(&PatternId(pattern.to_owned())).unwrap();
            let line = realise(pattern, key, None, piano.advanced, Register::Middle).unwrap();
            let reader = Reader { instrument: piano, key, calibrated: false, g_flat: false };
            let names: Vec<String> = line.notes.iter().map(|note| reader.asked(note)).collect();
            assert!(names.join(" ").starts_with(wanted), "{names:?}");
        }
    }
}
