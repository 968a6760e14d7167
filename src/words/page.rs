//! The one place that knows what stands on a player's page: names of keys and notes, and how reflex, tempo and cents are put.

use crate::chart::{ChordChart, NamedChart};
use crate::music::{
    Concert, ConcertKey, HalfSteps, Instrument, Mode, PitchClass, PitchName, Reading, Spelled, Spelling, Tonality,
    Unreadable, Written, WrittenKey, spell_in,
};
use crate::pattern::ExpectedNote;
use crate::units::{Cents, Midi, Seconds, Tempo};
use crate::words::numbers::signed;

/// A player's page: the instrument, and how its player reads. Every name of a key or note that a player sees is made here.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// The player's instrument; it decides what is written for a sounding pitch.
    pub instrument: Instrument,
    /// Written or sounding pitch, Gb or F#, the language of the names, the unit of reflex times.
    pub reading: Reading,
}

impl Page {
    /// The page of a player of this instrument.
    #[must_use]
    pub const fn new(instrument: Instrument, reading: Reading) -> Self {
        Self { instrument, reading }
    }

    /// This page in the instrument's written pitch: fingerings are named by the written pitch, whatever the player reads.
    #[must_use]
    pub fn in_written_pitch(&self) -> Self {
        Self { reading: Reading { concert: false, ..self.reading }, ..self.clone() }
    }

    /// This page in the pitch that sounds.
    #[must_use]
    pub fn in_concert_pitch(&self) -> Self {
        Self { reading: Reading { concert: true, ..self.reading }, ..self.clone() }
    }

    /// Half steps from a pitch on the page to the pitch that sounds: -2 on the page of a trumpet in Bb.
    #[must_use]
    pub const fn transposition(&self) -> HalfSteps {
        if self.reading.concert { HalfSteps(0) } else { self.instrument.transposition }
    }

    /// What stands on the page for a sounding pitch.
    #[must_use]
    pub fn written(&self, pitch: Concert) -> Written {
        if self.reading.concert { Written(pitch.0) } else { self.instrument.written(pitch) }
    }

    /// The pitch that sounds for a note of the page.
    #[must_use]
    pub fn sounding(&self, note: Written) -> Concert {
        if self.reading.concert { Concert(note.0) } else { self.instrument.concert(note) }
    }

    /// The key on the page for a sounding key.
    #[must_use]
    pub fn written_key(&self, key: ConcertKey) -> WrittenKey {
        if self.reading.concert { WrittenKey(key.0) } else { self.instrument.written_key(key) }
    }

    /// The key that sounds for a key of the page.
    #[must_use]
    pub fn sounding_key(&self, key: WrittenKey) -> ConcertKey {
        if self.reading.concert { ConcertKey(key.0) } else { self.instrument.concert_key(key) }
    }

    /// The place of a sounding key on the page's circle of fifths, 0 for the page's C to 11: the order of keys in a table.
    #[must_use]
    pub fn place(&self, key: ConcertKey) -> usize {
        ConcertKey(self.written_key(key).0).place()
    }

    /// A sounding key in a mode as the page spells it, with the fewest signs: C# minor and not Db minor.
    #[must_use]
    pub fn tonality(&self, key: ConcertKey, mode: Mode) -> Tonality {
        Tonality::on(self.written_key(key).0, mode, self.reading.g_flat)
    }

    /// The sounding key of a form as it stands on the page: its own, or for a form in numerals the one that reads as C.
    #[must_use]
    pub fn home(&self, form: &NamedChart) -> ConcertKey {
        self.sounding_key(form.chart.home().map_or(WrittenKey::C, |home| WrittenKey(home.class())))
    }

    /// A form in chord letters on the page, in the sounding key that is given. Without one it stands as it was written, or, where it goes
    /// through keys or was written in numerals, at [`home`](Self::home).
    #[must_use]
    pub fn chart(&self, form: &NamedChart, key: Option<ConcertKey>) -> ChordChart {
        if key.is_none() && form.cycle.is_none() && form.chart.home().is_some() {
            return form.chart.clone();
        }
        let key = self.written_key(key.unwrap_or_else(|| self.home(form)));
        form.in_key(key.0, self.reading.g_flat)
    }

    /// A note's or key's name in the player's language.
    #[must_use]
    pub fn name(&self, name: PitchName) -> String {
        self.reading.names.name(name)
    }

    /// The name of a sounding key in a mode, by its tonic alone.
    #[must_use]
    pub fn key(&self, key: ConcertKey, mode: Mode) -> String {
        self.name(self.tonality(key, mode).tonic)
    }

    /// A sounding pitch as it is spelled on the page in a sounding key.
    #[must_use]
    pub fn spelled(&self, pitch: Concert, key: ConcertKey, spelling: Spelling) -> Spelled {
        let (key, written) = (self.tonality(key, spelling.mode), self.written(pitch));
        let usual = spell_in(written, key);
        let letters = usual.letter.place() as i32 - key.tonic.letter.place() as i32;
        spelling.name(letters, written.0, key)
    }

    /// The name of a sounding pitch in a sounding key, without its octave: for a trumpet in Bb a sounding Eb is "F".
    #[must_use]
    pub fn note(&self, pitch: Concert, key: ConcertKey, spelling: Spelling) -> String {
        self.name(self.spelled(pitch, key, spelling).name())
    }

    /// An expected note as it is spelled on the page, by its function in the chord where that is known: the seventh of Cdim7 is Bbb and
    /// not A.
    #[must_use]
    pub fn expected(&self, note: &ExpectedNote, key: ConcertKey, spelling: Spelling) -> Spelled {
        let written = self.written(note.pitch).0;
        match note.named {
            Some(named) => {
                let key = self.tonality(key, spelling.mode);
                spelling.name(named.letters_in(key), written, key)
            }
            None => self.spelled(note.pitch, key, spelling),
        }
    }

    /// The name of an expected note without its octave.
    #[must_use]
    pub fn asked(&self, note: &ExpectedNote, key: ConcertKey, spelling: Spelling) -> String {
        self.name(self.expected(note, key, spelling).name())
    }

    /// The name of a spelled note of the page with the number of its octave.
    #[must_use]
    pub fn with_octave(&self, note: Spelled) -> String {
        self.reading.names.with_octave(note)
    }

    /// The name of a sounding pitch with its octave, outside any key.
    #[must_use]
    pub fn pitch(&self, pitch: Concert) -> String {
        self.with_octave(spell_in(self.written(pitch), Tonality::major(PitchClass::new(0), self.reading.g_flat)))
    }

    /// The name of a sounding pitch in a line of half steps that only rises: sharps alone (common practice: sharps going up, flats going
    /// down).
    #[must_use]
    pub fn rising(&self, pitch: Concert) -> String {
        self.with_signs(pitch, 1)
    }

    /// The name of a sounding pitch in a line of half steps that falls, or that goes both ways: flats alone, so that one table does not
    /// have F# beside Eb.
    #[must_use]
    pub fn falling(&self, pitch: Concert) -> String {
        self.with_signs(pitch, -1)
    }

    /// Both of these names where they differ: "C#/Db4".
    #[must_use]
    pub fn either(&self, pitch: Concert) -> String {
        let (up, down) = (self.rising(pitch), self.falling(pitch));
        let letters = up.trim_end_matches(|sign: char| sign.is_ascii_digit() || sign == '-');
        if up == down { down } else { format!("{letters}/{down}") }
    }

    /// The name of a sounding pitch outside any key, with sharps alone (1) or with flats alone (-1).
    fn with_signs(&self, pitch: Concert, sign: i32) -> String {
        let written = self.written(pitch);
        let spelled = spell_in(written, Tonality::major(PitchClass::new(0), self.reading.g_flat));
        let name = spelled.name();
        let other = i32::from(name.alter) * sign < 0;
        let name = if other { PitchName::on(name.letter.up(-sign), name.class()) } else { name };
        self.with_octave(name.at(written.0))
    }

    /// The name of the pitch nearest to what was heard, with its octave.
    #[must_use]
    pub fn heard(&self, heard: Midi) -> String {
        self.pitch(Concert(heard.nearest()))
    }

    /// A reflex time with its unit: "0.8 s", or "800 ms".
    #[must_use]
    pub fn reflex(&self, time: Seconds) -> String {
        format!("{} {}", self.reflex_number(time, false), self.reading.reflex.sign())
    }

    /// A reflex time as a bare number in its unit, for a table; `finer` has hundredths of a second.
    #[must_use]
    pub fn reflex_number(&self, time: Seconds, finer: bool) -> String {
        self.reading.reflex.number(time, finer)
    }

    /// A tempo: "quarter = 72".
    #[must_use]
    pub fn tempo(&self, tempo: Tempo) -> String {
        format!("quarter = {:.0}", tempo.0)
    }

    /// Whole cents with their sign; 0 has none.
    #[must_use]
    pub fn cents(&self, cents: Cents) -> String {
        signed(cents)
    }

    /// Reads the name of a key on the page, in the player's language or else in English, and gives the key that sounds; `None`
    /// where the text names no key.
    #[must_use]
    pub fn read_key(&self, text: &str) -> Option<ConcertKey> {
        let own = self.reading.names.read(text).map(|name| WrittenKey(name.class()));
        own.or_else(|| WrittenKey::parse(text)).map(|key| self.sounding_key(key))
    }

    /// Reads a note of the page with its octave and gives the pitch that sounds.
    ///
    /// # Errors
    /// A text that is no note with its octave: where it cannot be read, and what was expected.
    pub fn read_note(&self, text: &str) -> Result<Concert, Unreadable> {
        let spelled: Spelled = self.reading.names.in_english(text).parse()?;
        Ok(self.sounding(spelled.written()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{NoteNames, ReflexUnit, instrument};

    fn page(id: &str, reading: Reading) -> Page {
        Page::new(instrument(id).unwrap().clone(), reading)
    }

    #[test]
    fn a_trumpeter_reads_a_whole_step_above_what_sounds_unless_concert_pitch_is_read() {
        let eb = ConcertKey(PitchClass::new(3));
        let written = page("trumpet", Reading::default());
        assert_eq!(written.key(eb, Mode::Major), "F");
        assert_eq!(written.pitch(Concert(60)), "D4");
        let concert = page("trumpet", Reading { concert: true, ..Reading::default() });
        assert_eq!(concert.key(eb, Mode::Major), "Eb");
        assert_eq!(concert.note(Concert(63), eb, Spelling::default()), "Eb");
        assert_eq!(
            [61, 62, 63, 66, 68, 70].map(|midi| concert.rising(Concert(midi))),
            ["C#4", "D4", "D#4", "F#4", "G#4", "A#4"]
        );
        assert_eq!(
            [61, 62, 63, 66, 68, 70, 71].map(|midi| concert.falling(Concert(midi))),
            ["Db4", "D4", "Eb4", "Gb4", "Ab4", "Bb4", "B4"]
        );
        assert_eq!([61, 62, 70].map(|midi| concert.either(Concert(midi))), ["C#/Db4", "D4", "A#/Bb4"]);
        assert_eq!(concert.in_written_pitch().key(eb, Mode::Major), "F");
    }

    #[test]
    fn a_minor_key_has_the_name_with_fewer_signs() {
        // Common practice: C# minor has four sharps, Db minor would have eight flats; the major key of the same sound is Db.
        let piano = page("piano", Reading::default());
        let key = ConcertKey(PitchClass::new(1));
        assert_eq!([Mode::Major, Mode::Minor].map(|mode| piano.key(key, mode)), ["Db", "C#"]);
        let spelling = Spelling { mode: Mode::Minor, chromatic: false };
        assert_eq!([61, 64, 68].map(|midi| piano.note(Concert(midi), key, spelling)), ["C#", "E", "G#"]);
    }

    #[test]
    fn german_and_do_re_mi_are_shown_and_read() {
        let german = page("piano", Reading { names: NoteNames::German, ..Reading::default() });
        let [b_flat, b] = [10, 11].map(|class| ConcertKey(PitchClass::new(class)));
        assert_eq!([b_flat, b].map(|key| german.key(key, Mode::Major)), ["B", "H"]);
        assert_eq!([german.read_key("B"), german.read_key("H")], [Some(b_flat), Some(b)]);
        assert_eq!(german.read_note("H3").unwrap(), Concert(59));
        assert_eq!(german.pitch(Concert(66)), "Fis4");
        let french = page("piano", Reading { names: NoteNames::Solfege, ..Reading::default() });
        assert_eq!(french.pitch(Concert(70)), "Sib4");
        assert_eq!(french.read_note("Sol3").unwrap(), Concert(55));
    }

    #[test]
    fn a_reflex_time_stands_in_the_unit_that_was_chosen() {
        let milliseconds = Reading { reflex: ReflexUnit::Milliseconds, ..Reading::default() };
        assert_eq!(page("flute", Reading::default()).reflex(Seconds(0.82)), "0.8 s");
        assert_eq!(page("flute", milliseconds).reflex(Seconds(0.82)), "820 ms");
    }
}
