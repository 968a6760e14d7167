//! Who the words about one cue are for.

use crate::cue::Cue;
use crate::music::{Concert, ConcertKey, Instrument, Spelling};
use crate::pattern::ExpectedNote;
use crate::words::Page;

/// Who the words about one cue are for, and in which key it stands.
#[derive(Debug, Clone, Copy)]
pub struct Reader<'a> {
    /// The player's page.
    pub page: &'a Page,
    /// The key of the cue, as it sounds.
    pub key: ConcertKey,
    /// How the key and the notes of the cue are spelled.
    pub spelling: Spelling,
    /// Whether the delay of the devices was measured; only then are reflex times measurements.
    pub calibrated: bool,
    /// Whether nobody asked for a tempo, so that the usual one stands in for it.
    pub usual_tempo: bool,
}

impl<'a> Reader<'a> {
    /// The reader of what is said about a cue.
    #[must_use]
    pub const fn of(page: &'a Page, cue: &Cue, calibrated: bool) -> Self {
        Self { page, key: cue.key, spelling: cue.spelling, calibrated, usual_tempo: false }
    }
    /// The player's instrument.
    #[must_use]
    pub const fn instrument(&self) -> &'a Instrument {
        &self.page.instrument
    }
    /// The name on the page of a sounding pitch, without its octave: for a trumpet in Bb a sounding Eb is "F".
    #[must_use]
    pub fn note(&self, pitch: Concert) -> String {
        self.page.note(pitch, self.key, self.spelling)
    }
    /// The name on the page of a note that was asked, without its octave: by its function, where that is known.
    #[must_use]
    pub fn asked(&self, note: &ExpectedNote) -> String {
        self.page.asked(note, self.key, self.spelling)
    }
    /// The name on the page of a sounding key.
    #[must_use]
    pub fn key(&self, key: ConcertKey) -> String {
        self.page.key(key, self.spelling.mode)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{Reading, WrittenKey, instrument};
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
            let page = Page::new(piano.clone(), Reading::default());
            let reader =
                Reader { page: &page, key, spelling: pattern.spelling(), calibrated: false, usual_tempo: false };
            let names: Vec<String> = line.notes.iter().map(|note| reader.asked(note)).collect();
            assert!(names.join(" ").starts_with(wanted), "{names:?}");
        }
    }
}
