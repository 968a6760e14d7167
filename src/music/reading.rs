use std::fmt;

use crate::music::{Letter, Mode, PitchClass, PitchName, Spelled, Tonality};
use crate::units::Seconds;

/// The language in which notes and keys have their names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum NoteNames {
    /// C to B, with `#` and `b`.
    #[default]
    English,
    /// C to H: H is the English B, and B the English Bb; sharps end in -is, flats in -es or -s (common practice).
    German,
    /// Do to Si on fixed pitches, with `#` and `b`.
    Solfege,
}

/// The unit in which reflex times are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum ReflexUnit {
    /// Seconds, to a tenth, or to a hundredth where a figure asks for it.
    #[default]
    Seconds,
    /// Whole milliseconds.
    Milliseconds,
}

impl ReflexUnit {
    /// All units.
    pub const ALL: [Self; 2] = [Self::Seconds, Self::Milliseconds];

    /// The plain name of the unit.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Seconds => "seconds",
            Self::Milliseconds => "milliseconds",
        }
    }

    /// The sign of the unit.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Seconds => "s",
            Self::Milliseconds => "ms",
        }
    }

    /// A time as a bare number in this unit; `finer` gives seconds to a hundredth.
    #[must_use]
    pub fn number(self, time: Seconds, finer: bool) -> String {
        match self {
            Self::Seconds if finer => format!("{:.2}", time.0),
            Self::Seconds => format!("{:.1}", time.0),
            Self::Milliseconds => format!("{:.0}", time.ms()),
        }
    }
}

/// How one player reads: the names that screens, reports and commands give to pitches and keys, and the unit of reflex times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Reading {
    /// Whether the page shows sounding pitch instead of the instrument's written pitch.
    pub concert: bool,
    /// Whether the major key of six sharps or flats is named Gb; else it is F#.
    pub g_flat: bool,
    /// The language of notes and keys.
    pub names: NoteNames,
    /// The unit of reflex times.
    pub reflex: ReflexUnit,
}

/// How a note is named: by its letter and by the root of the chord under the note.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct NamedBy {
    /// How many letters above the tonic's letter the note is written.
    pub letters: i32,
    /// The root of the chord under the note, in fifths above the tonic: 1 for the degree 5, -1 for 4, -5 for b2; 0 for the tonic and where
    /// there is no chord.
    pub over: i32,
}

impl NamedBy {
    /// How many letters above the tonic's letter the note stands on a page in `key`. No chord is named on Fb or a flatter root, nor on Cb
    /// where the key has no Cb. The notes of such a chord are named one letter lower: for bII7 in Db a player reads D7, D F# A C (common
    /// practice).
    #[must_use]
    pub fn letters_in(self, key: Tonality) -> i32 {
        let root = key.tonic.fifths() + self.over;
        let flattest = i32::from(key.signature().sharps()) - 1;
        if root < -6 && (root < flattest || root < -7) { self.letters - 1 } else { self.letters }
    }
}

/// How a page spells the key and the notes of a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Spelling {
    /// The mode of the key, which decides its signature: a minor key on a sounding Db is written C# minor.
    pub mode: Mode,
    /// Whether the pattern is a line by half steps, whose notes have their simplest names: no double sharps and flats, and E#, B#, Cb
    /// and Fb only where they belong to the key (common practice).
    pub chromatic: bool,
}

impl Default for Spelling {
    fn default() -> Self {
        Self { mode: Mode::Major, chromatic: false }
    }
}

impl Spelling {
    /// The name of the note with the number `midi` on a page in `key`, written `letters` letters above the tonic's letter; on a
    /// neighbouring letter where that would take three sharps or flats, or where `chromatic` asks for a simpler name.
    #[must_use]
    pub fn name(self, letters: i32, midi: i32, key: Tonality) -> Spelled {
        let name = PitchName::on(key.tonic.letter.up(letters), PitchClass::new(midi));
        let own = key.signature().alters(name.letter) == name.alter;
        if self.chromatic && !own && !name.simple() {
            return PitchName::on(name.letter.up(i32::from(name.alter.signum())), name.class()).at(midi);
        }
        crate::music::readable(name, midi)
    }
}

impl NoteNames {
    /// All languages.
    pub const ALL: [Self; 3] = [Self::English, Self::German, Self::Solfege];

    /// The word for the language in settings and on the command line; the record of a sitting has `solfege` for `do-re-mi`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::English => "english",
            Self::German => "german",
            Self::Solfege => "do-re-mi",
        }
    }

    /// The language that a word of settings names; `None` where it names none.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|names| names.word() == word)
    }

    /// A pitch class by its name: `F#`, `Fis`, `Fa#`.
    #[must_use]
    pub fn name(self, name: PitchName) -> String {
        match self {
            Self::English => name.to_string(),
            Self::German => german(name),
            Self::Solfege => {
                let syllable = ["Do", "Re", "Mi", "Fa", "Sol", "La", "Si"][name.letter.place()];
                let sign = if name.alter < 0 { "b" } else { "#" };
                syllable.to_owned() + &sign.repeat(usize::from(name.alter.unsigned_abs()))
            }
        }
    }

    /// A pitch with the number of its octave: `F#4`, `Fis4`, `Fa#4`.
    #[must_use]
    pub fn with_octave(self, note: Spelled) -> String {
        format!("{}{}", self.name(note.name()), note.octave)
    }

    /// Reads a name from the start of a text, in capitals or small letters; returns the name and the rest of the text. A name that the
    /// language does not have is read as English.
    fn leading(self, text: &str) -> Option<(PitchName, &str)> {
        let alters = -2..=2;
        let all = alters.flat_map(|alter| Letter::ALL.map(|letter| PitchName { letter, alter }));
        let own = |name: PitchName| {
            let own = self.name(name);
            let there = text.get(..own.len()).is_some_and(|begins| begins.eq_ignore_ascii_case(&own));
            there.then(|| (name, &text[own.len()..]))
        };
        let longest = all.filter_map(own).min_by_key(|(_, rest)| rest.len());
        let whole = |rest: &str| rest.is_empty() || rest.starts_with(|c: char| c.is_ascii_digit() || c == '-');
        longest.filter(|(_, rest)| self != Self::English && whole(rest)).or_else(|| PitchName::leading(text))
    }

    /// Reads a note or key without its octave.
    #[must_use]
    pub fn read(self, text: &str) -> Option<PitchName> {
        self.leading(text.trim()).filter(|(_, rest)| rest.is_empty()).map(|(name, _)| name)
    }

    /// A note as [`with_octave`](Self::with_octave) writes it, in English names. Of any other text, a note's name at its start is
    /// put into English and the rest stays; a text that begins with no name is unchanged.
    #[must_use]
    pub fn in_english(self, text: &str) -> String {
        self.leading(text.trim()).map_or_else(|| text.to_owned(), |(name, rest)| format!("{name}{rest}"))
    }
}

impl fmt::Display for ReflexUnit {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.sign())
    }
}

/// Names of German usage: Cis, Des, B for Bb, H for B, Heses for Bbb; As and Es lose a vowel (common practice).
fn german(name: PitchName) -> String {
    let letter = if name.letter == Letter::B { 'H' } else { name.letter.sign() };
    let vowel = matches!(name.letter, Letter::A | Letter::E);
    match name.alter {
        -1 if name.letter == Letter::B => "B".to_owned(),
        sharp @ 0.. => format!("{letter}{}", "is".repeat(usize::from(sharp.unsigned_abs()))),
        -1 if vowel => format!("{letter}s"),
        flat if vowel => format!("{letter}s{}", "es".repeat(usize::from(flat.unsigned_abs()) - 1)),
        flat => format!("{letter}{}", "es".repeat(usize::from(flat.unsigned_abs()))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(names: NoteNames, english: &str) -> String {
        names.name(english.parse().unwrap())
    }

    #[test]
    fn notes_have_the_names_of_the_players_own_school() {
        // German and fixed-do names of any rudiments of music (common practice).
        for (english, german, solfege) in [
            ("C", "C", "Do"),
            ("C#", "Cis", "Do#"),
            ("Eb", "Es", "Mib"),
            ("Ab", "As", "Lab"),
            ("Gb", "Ges", "Solb"),
            ("Bb", "B", "Sib"),
            ("B", "H", "Si"),
            ("B#", "His", "Si#"),
            ("F##", "Fisis", "Fa##"),
            ("Bbb", "Heses", "Sibb"),
            ("Ebb", "Eses", "Mibb"),
        ] {
            assert_eq!(named(NoteNames::German, english), german);
            assert_eq!(named(NoteNames::Solfege, english), solfege);
            assert_eq!(named(NoteNames::English, english), english);
        }
    }

    #[test]
    fn every_name_reads_back_in_its_own_language() {
        for names in NoteNames::ALL {
            for letter in Letter::ALL {
                for alter in -2..=2 {
                    let name = PitchName { letter, alter };
                    assert_eq!(names.read(&names.name(name)), Some(name), "{} {name}", names.word());
                    let note = name.at(61);
                    assert_eq!(names.in_english(&names.with_octave(note)), note.to_string());
                }
            }
            assert_eq!(NoteNames::of_word(names.word()), Some(names));
        }
    }

    #[test]
    fn h_and_b_are_a_half_step_apart_in_german_and_english_names_are_read_where_they_cannot_be_mistaken() {
        let read = |text| NoteNames::German.read(text).map(|name| name.to_string());
        assert_eq!(read("h").as_deref(), Some("B"));
        assert_eq!(read("b").as_deref(), Some("Bb"));
        assert_eq!(read("Bb").as_deref(), Some("Bb"));
        assert_eq!(read("F#").as_deref(), Some("F#"));
        assert_eq!(NoteNames::German.in_english("H3"), "B3");
        assert_eq!(NoteNames::English.read("H"), None);
        assert_eq!(NoteNames::Solfege.read("sol#").map(|name| name.to_string()).as_deref(), Some("G#"));
    }

    #[test]
    fn notes_over_the_flat_second_are_those_of_the_chord_that_a_player_reads() {
        // Common practice: D7 in Db, A7 in Ab, E7 in Eb, B7 in Bb, Gb7 in F; Cb only where the key has it.
        let dominant = |key: &str, root: &str| {
            let key = Tonality::major(key.parse::<PitchName>().unwrap().class(), key == "Gb");
            let root = crate::music::Degree::parse(root).unwrap();
            let note = |above: &str| {
                let degree = root + crate::music::Degree::parse(above).unwrap();
                let named = NamedBy { letters: degree.letters, over: root.fifths() };
                let midi = 60 + key.tonic.class().get() + degree.half_steps;
                Spelling::default().name(named.letters_in(key), midi, key).name().to_string()
            };
            ["1", "3", "5", "b7"].map(note).join(" ")
        };
        for (key, root, notes) in [
            ("Db", "b2", "D F# A C"),
            ("Ab", "b2", "A C# E G"),
            ("Eb", "b2", "E G# B D"),
            ("Bb", "b2", "B D# F# A"),
            ("F", "b2", "Gb Bb Db Fb"),
            ("Gb", "4", "Cb Eb Gb Bbb"),
            ("Db", "b3", "E G# B D"),
            ("F#", "5", "C# E# G# B"),
        ] {
            assert_eq!(dominant(key, root), notes, "{root} of {key}");
        }
    }

    #[test]
    fn a_chromatic_run_has_no_double_sharps_in_any_key() {
        // Common practice: sharps going up, flats going down, E# and B# only where the key has them.
        let run = |tonic: PitchClass, up: bool| -> String {
            let key = Tonality::major(tonic, false);
            let spelling = Spelling { mode: Mode::Major, chromatic: true };
            let note = |n: i32| {
                let degree = crate::music::Degree::of_half_steps(n, up);
                spelling.name(degree.letters, 60 + tonic.get() + n, key).name().to_string()
            };
            (0..12).map(|n| note(if up { n } else { 11 - n })).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(run(PitchClass::new(0), true), "C C# D D# E F F# G G# A A# B");
        assert_eq!(run(PitchClass::new(11), true), "B C C# D D# E F F# G G# A A#");
        assert_eq!(run(PitchClass::new(6), true), "F# G G# A A# B C C# D D# E E#");
        assert_eq!(run(PitchClass::new(1), false), "C B Bb A Ab G Gb F E Eb D Db");
        for class in 0..12 {
            for up in [true, false] {
                let run = run(PitchClass::new(class), up);
                assert!(!run.contains("##") && !run.contains("bb") && !run.contains("B#"), "{run}");
            }
        }
    }
}
