use std::fmt;

use crate::music::{ConcertKey, Degree, Letter, PitchClass, PitchName};

/// The letters in the order in which sharps are added to a signature; flats come in the reverse order.
const SHARPS: [Letter; 7] = [Letter::F, Letter::C, Letter::G, Letter::D, Letter::A, Letter::E, Letter::B];

/// A key signature: its number of sharps (above zero) or flats (below zero), -7 to 7.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Signature(i8);

/// Major, minor, and the other modes that a key may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mode {
    /// Major.
    Major,
    /// Minor, by its signature: the natural minor.
    Minor,
    /// Minor with a major sixth.
    Dorian,
    /// Minor with a minor second.
    Phrygian,
    /// Major with a raised fourth.
    Lydian,
    /// Major with a minor seventh.
    Mixolydian,
    /// Minor with a minor second and a diminished fifth.
    Locrian,
}

/// A key as it is spelled: its tonic's name and its mode.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Tonality {
    /// The tonic.
    pub tonic: PitchName,
    /// The mode of the key.
    pub mode: Mode,
}

impl Mode {
    /// All modes.
    pub const ALL: [Self; 7] =
        [Self::Major, Self::Minor, Self::Dorian, Self::Phrygian, Self::Lydian, Self::Mixolydian, Self::Locrian];

    /// The name of the mode, the same as in the `mode` element of MusicXML 4.0.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Minor => "minor",
            Self::Dorian => "dorian",
            Self::Phrygian => "phrygian",
            Self::Lydian => "lydian",
            Self::Mixolydian => "mixolydian",
            Self::Locrian => "locrian",
        }
    }
    /// How many sharps more the signature of this mode has than that of major on the same tonic; below zero, how many flats more (common
    /// practice).
    #[must_use]
    pub const fn sharps(self) -> i32 {
        match self {
            Self::Lydian => 1,
            Self::Major => 0,
            Self::Mixolydian => -1,
            Self::Dorian => -2,
            Self::Minor => -3,
            Self::Phrygian => -4,
            Self::Locrian => -5,
        }
    }
    /// Whether the third of the mode is minor.
    #[must_use]
    pub const fn is_minor(self) -> bool {
        self.sharps() < -1
    }
    /// The seven degrees of the scale, upward from the tonic.
    #[must_use]
    pub fn degrees(self) -> [Degree; 7] {
        // The degrees of major in the order in which further flats lower them.
        let lowered = [6, 2, 5, 1, 4];
        let flats = (-self.sharps()).max(0) as usize;
        std::array::from_fn(|letter| {
            let letter = letter as i32;
            let raised = i32::from(self.sharps() > 0 && letter == 3);
            Degree::altered(letter, raised - i32::from(lowered.iter().take(flats).any(|low| *low == letter)))
        })
    }
}

impl Signature {
    /// The number of sharps, or of flats below zero.
    #[must_use]
    pub const fn sharps(self) -> i8 {
        self.0
    }
    /// The sharp or flat the signature puts on a letter, as half steps: -1, 0 or 1.
    #[must_use]
    pub fn alters(self, letter: Letter) -> i8 {
        let order = SHARPS.iter().position(|sharp| *sharp == letter).unwrap_or(0) as i8;
        match self.0 {
            sharps if sharps > order => 1,
            flats if -flats > 6 - order => -1,
            _ => 0,
        }
    }
    /// The altered letters in the order in which they are printed.
    #[must_use]
    pub fn printed(self) -> Vec<PitchName> {
        let name = |letter: &Letter| PitchName { letter: *letter, alter: self.0.signum() };
        let count = usize::from(self.0.unsigned_abs());
        if self.0 >= 0 {
            SHARPS.iter().take(count).map(name).collect()
        } else {
            SHARPS.iter().rev().take(count).map(name).collect()
        }
    }
}

impl Tonality {
    /// The major key of a class, spelled as usual: flats for Db Ab Eb Bb F, F# unless `g_flat` asks for Gb.
    #[must_use]
    pub fn major(tonic: PitchClass, g_flat: bool) -> Self {
        let letter = match tonic.get() {
            0 => Letter::C,
            1 | 2 => Letter::D,
            3 | 4 => Letter::E,
            6 if !g_flat => Letter::F,
            5 => Letter::F,
            6 | 7 => Letter::G,
            8 | 9 => Letter::A,
            _ => Letter::B,
        };
        Self { tonic: PitchName::on(letter, tonic), mode: Mode::Major }
    }
    /// The minor key of a class, spelled with the fewest sharps or flats: C# F# G# and not Db Gb Ab. Eb and D# have six each; Eb is
    /// taken (common practice).
    #[must_use]
    pub fn minor(tonic: PitchClass) -> Self {
        let letter = match tonic.get() {
            0 | 1 => Letter::C,
            2 => Letter::D,
            3 | 4 => Letter::E,
            5 | 6 => Letter::F,
            7 | 8 => Letter::G,
            9 => Letter::A,
            _ => Letter::B,
        };
        Self { tonic: PitchName::on(letter, tonic), mode: Mode::Minor }
    }
    /// A class as the tonic of a mode, spelled so that the signature has the fewest sharps or flats. Of two spellings with equally many,
    /// the one of the major key is taken. With `g_flat` the class of F# is named Gb wherever that key needs no more than seven sharps or
    /// flats.
    #[must_use]
    pub fn on(tonic: PitchClass, mode: Mode, g_flat: bool) -> Self {
        let usual = Self::major(tonic, g_flat);
        let names = Letter::ALL.map(|letter| PitchName::on(letter, tonic));
        let keys = names.into_iter().filter(|name| name.alter.abs() <= 1).map(|tonic| Self { tonic, mode });
        let signs = |key: &Self| match key.signs() {
            signs if g_flat && tonic.get() == 6 && key.tonic == usual.tonic && signs.abs() <= 7 => 0,
            signs => signs.abs(),
        };
        keys.min_by_key(|key| (signs(key), key.tonic != usual.tonic)).unwrap_or(Self { mode, ..usual })
    }
    /// The major or minor key on the same tonic, by the third of the mode.
    #[must_use]
    pub fn plain(self) -> Self {
        Self { mode: if self.mode.is_minor() { Mode::Minor } else { Mode::Major }, ..self }
    }
    /// The major key as it sounds.
    #[must_use]
    pub fn concert(key: ConcertKey, g_flat: bool) -> Self {
        Self::major(key.0, g_flat)
    }
    /// The minor key with the same signature: from Gb major Eb minor, from F# major D# minor.
    #[must_use]
    pub fn relative_minor(self) -> Self {
        let letter = self.tonic.letter.up(-2);
        let class = PitchClass::new(self.tonic.class().get() - 3);
        Self { tonic: PitchName::on(letter, class), mode: Mode::Minor }
    }
    /// The signature of the key; one that would need more than seven sharps or flats, which no usual key does, is given seven.
    #[must_use]
    pub fn signature(self) -> Signature {
        Signature(self.signs().clamp(-7, 7) as i8)
    }
    fn signs(self) -> i32 {
        let place = SHARPS.iter().position(|sharp| *sharp == self.tonic.letter).unwrap_or(0) as i32;
        place - 1 + 7 * i32::from(self.tonic.alter) + self.mode.sharps()
    }
    /// The seven notes of the signature, from the tonic up, each letter once.
    #[must_use]
    pub fn scale(self) -> [PitchName; 7] {
        let signature = self.signature();
        std::array::from_fn(|n| {
            let letter = self.tonic.letter.up(n as i32);
            PitchName { letter, alter: signature.alters(letter) }
        })
    }
}

impl fmt::Display for Tonality {
    /// `Eb major`, `C# minor`, `D dorian`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} {}", self.tonic, self.mode.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::instrument;

    /// Columns: concert major key, sharps (flats below zero), scale, relative minor, and the keys that instruments in Bb, Eb and F read.
    /// Signatures, spelling and relative minors: common practice, as in any handbook of elements.
    const KEYS: [(&str, i8, &str, &str, &str, &str, &str); 13] = [
        ("C", 0, "C D E F G A B", "A", "D", "A", "G"),
        ("G", 1, "G A B C D E F#", "E", "A", "E", "D"),
        ("D", 2, "D E F# G A B C#", "B", "E", "B", "A"),
        ("A", 3, "A B C# D E F# G#", "F#", "B", "F#", "E"),
        ("E", 4, "E F# G# A B C# D#", "C#", "F#", "Db", "B"),
        ("B", 5, "B C# D# E F# G# A#", "G#", "Db", "Ab", "F#"),
        ("F#", 6, "F# G# A# B C# D# E#", "D#", "Ab", "Eb", "Db"),
        ("Gb", -6, "Gb Ab Bb Cb Db Eb F", "Eb", "Ab", "Eb", "Db"),
        ("Db", -5, "Db Eb F Gb Ab Bb C", "Bb", "Eb", "Bb", "Ab"),
        ("Ab", -4, "Ab Bb C Db Eb F G", "F", "Bb", "F", "Eb"),
        ("Eb", -3, "Eb F G Ab Bb C D", "C", "F", "C", "Bb"),
        ("Bb", -2, "Bb C D Eb F G A", "G", "C", "G", "F"),
        ("F", -1, "F G A Bb C D E", "D", "G", "D", "C"),
    ];

    fn words(names: &[PitchName]) -> String {
        names.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn the_thirteen_keys_have_their_signatures_and_use_each_letter_once() {
        for (name, sharps, scale, minor, ..) in KEYS {
            let key = Tonality::major(name.parse::<PitchName>().unwrap().class(), name == "Gb");
            assert_eq!(key.to_string(), format!("{name} major"));
            assert_eq!(key.signature().sharps(), sharps, "{name}");
            assert_eq!(words(&key.scale()), scale, "{name}");
            let relative = key.relative_minor();
            assert_eq!(relative.tonic.to_string(), minor, "{name}");
            assert_eq!(relative.signature(), key.signature(), "{name}");
        }
    }

    #[test]
    fn instruments_in_b_flat_e_flat_and_f_read_the_keys_of_the_handbook() {
        for (name, _, _, _, b_flat, e_flat, f) in KEYS {
            let concert = ConcertKey(name.parse::<PitchName>().unwrap().class());
            for (ids, reads) in [
                (&["trumpet", "clarinet", "tenor-sax", "bass-clarinet"][..], b_flat),
                (&["alto-sax", "baritone-sax", "tenor-horn"][..], e_flat),
                (&["horn", "english-horn"][..], f),
                (&["flute", "guitar", "piano", "double-bass"][..], if name == "Gb" { "F#" } else { name }),
            ] {
                for id in ids {
                    let one = instrument(id).unwrap();
                    let written = one.written_key(concert);
                    assert_eq!(written.name(false), reads, "concert {name} on {id}");
                    assert_eq!(one.concert_key(written), concert);
                }
            }
        }
    }

    #[test]
    fn signatures_print_their_signs_in_the_order_of_the_handbook() {
        let printed = |name: &str| {
            let class = name.parse::<PitchName>().unwrap().class();
            words(&Tonality::major(class, true).signature().printed())
        };
        assert_eq!(printed("B"), "F# C# G# D# A#");
        assert_eq!(printed("Gb"), "Bb Eb Ab Db Gb Cb");
        assert_eq!(printed("C"), "");
    }

    #[test]
    fn parallel_minors_take_the_fewest_signs() {
        // Common practice: C G D A E B F# C# G# Eb Bb F minor.
        let minors = [(0, "C", -3), (7, "G", -2), (2, "D", -1), (9, "A", 0), (4, "E", 1), (11, "B", 2), (6, "F#", 3)];
        for (class, name, sharps) in
            minors.into_iter().chain([(1, "C#", 4), (8, "G#", 5), (3, "Eb", -6), (10, "Bb", -5), (5, "F", -4)])
        {
            let key = Tonality::minor(PitchClass::new(class));
            assert_eq!(key.to_string(), format!("{name} minor"));
            assert_eq!(key.signature().sharps(), sharps, "{name}");
            assert_eq!(key.scale()[5].class(), PitchClass::new(class + 8), "the sixth of {name} minor");
        }
    }

    #[test]
    fn modes_take_the_signature_of_the_major_key_whose_notes_they_have() {
        // Any handbook of elements: D dorian, E phrygian, F lydian, G mixolydian, A minor, B locrian have the notes of C major.
        for (name, mode) in [
            ("D", Mode::Dorian),
            ("E", Mode::Phrygian),
            ("F", Mode::Lydian),
            ("G", Mode::Mixolydian),
            ("A", Mode::Minor),
            ("B", Mode::Locrian),
        ] {
            let class = name.parse::<PitchName>().unwrap().class();
            for up in 0..12 {
                let key = Tonality::on(PitchClass::new(class.get() + up), mode, false);
                let major = Tonality::major(PitchClass::new(up), false);
                let mut notes = key.scale().map(|name| name.class().get());
                notes.sort_unstable();
                let mut same = major.scale().map(|name| name.class().get());
                same.sort_unstable();
                assert_eq!(notes, same, "{key} has the notes of {major}");
                let degrees = mode.degrees().map(|degree| (key.tonic.class().get() + degree.half_steps) % 12);
                assert_eq!(key.scale().map(|name| name.class().get()), degrees, "{key}");
                assert!(key.signature().sharps().abs() <= 6, "{key}");
            }
        }
        let on = |class, mode, g_flat| Tonality::on(PitchClass::new(class), mode, g_flat).to_string();
        assert_eq!(on(1, Mode::Mixolydian, false), "Db mixolydian");
        assert_eq!(on(1, Mode::Dorian, false), "C# dorian");
        assert_eq!([on(6, Mode::Mixolydian, false), on(6, Mode::Mixolydian, true)], ["F# mixolydian", "Gb mixolydian"]);
        for class in 0..12 {
            let class = PitchClass::new(class);
            assert_eq!(Tonality::on(class, Mode::Minor, false), Tonality::minor(class));
            let both = [false, true].map(|g_flat| Tonality::on(class, Mode::Major, g_flat));
            assert_eq!(both, [false, true].map(|g_flat| Tonality::major(class, g_flat)));
        }
    }
}
