use std::fmt;
use std::str::FromStr;

use crate::music::{Concert, HalfSteps, PitchClass, Unreadable, Written};

/// One of the seven letters, in their order from C.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Letter {
    /// C
    C,
    /// D
    D,
    /// E
    E,
    /// F
    F,
    /// G
    G,
    /// A
    A,
    /// B (never H)
    B,
}

/// A pitch class as it is spelled: a letter and its sharps (above zero) or flats (below zero).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PitchName {
    /// The letter.
    pub letter: Letter,
    /// Half steps from the natural letter: 1 is a sharp, -2 a double flat.
    pub alter: i8,
}

/// A pitch as it is spelled, with the octave of its *letter*: Cb4 is the B below middle C, B#3 is middle C.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Spelled {
    /// The letter.
    pub letter: Letter,
    /// Half steps from the natural letter: 1 is a sharp, -2 a double flat.
    pub alter: i8,
    /// The octave in which the natural letter lies, 4 from middle C up (scientific pitch notation).
    pub octave: i32,
}

impl Letter {
    /// The seven letters, from C.
    pub const ALL: [Self; 7] = [Self::C, Self::D, Self::E, Self::F, Self::G, Self::A, Self::B];

    /// The place in the order from C, 0 to 6.
    #[must_use]
    pub const fn place(self) -> usize {
        self as usize
    }
    /// Half steps of the natural letter above C, 0 to 11.
    #[must_use]
    pub const fn half_steps(self) -> i32 {
        [0, 2, 4, 5, 7, 9, 11][self as usize]
    }
    /// The letter `steps` letters further up, or down below zero; after G comes A again.
    #[must_use]
    pub const fn up(self, steps: i32) -> Self {
        Self::ALL[(self as i32 + steps).rem_euclid(7) as usize]
    }
    /// The letter as it is printed.
    #[must_use]
    pub const fn sign(self) -> char {
        ['C', 'D', 'E', 'F', 'G', 'A', 'B'][self as usize]
    }
    /// A letter in either case; `None` for anything but A to G.
    #[must_use]
    pub const fn of(sign: char) -> Option<Self> {
        Some(match sign.to_ascii_uppercase() {
            'C' => Self::C,
            'D' => Self::D,
            'E' => Self::E,
            'F' => Self::F,
            'G' => Self::G,
            'A' => Self::A,
            'B' => Self::B,
            _ => return None,
        })
    }
}

impl PitchName {
    /// The natural letter.
    #[must_use]
    pub const fn natural(letter: Letter) -> Self {
        Self { letter, alter: 0 }
    }
    /// The pitch class that the name stands for.
    #[must_use]
    pub const fn class(self) -> PitchClass {
        PitchClass::new(self.letter.half_steps() + self.alter as i32)
    }
    /// The name of `class` on this letter, with the fewest sharps or flats: C on the letter B is B#.
    #[must_use]
    pub const fn on(letter: Letter, class: PitchClass) -> Self {
        let above = (class.get() - letter.half_steps()).rem_euclid(12);
        Self { letter, alter: (if above > 6 { above - 12 } else { above }) as i8 }
    }
    /// The place of the name in the order of fifths: C is 0, G 1, F -1.
    #[must_use]
    pub const fn fifths(self) -> i32 {
        [0, 2, 4, -1, 1, 3, 5][self.letter as usize] + 7 * self.alter as i32
    }
    /// Whether the name is a natural note, or has one sharp or flat and does not sound as a natural note (E#, B#, Cb and Fb do).
    #[must_use]
    pub const fn simple(self) -> bool {
        match self.alter {
            0 => true,
            1 => !matches!(self.letter, Letter::E | Letter::B),
            -1 => !matches!(self.letter, Letter::C | Letter::F),
            _ => false,
        }
    }
    /// This name in the octave in which it has the note number `midi`; where `midi` is another pitch class, in the nearest octave.
    #[must_use]
    pub const fn at(self, midi: i32) -> Spelled {
        let natural = midi - self.alter as i32;
        let octave = (natural - self.letter.half_steps() + 6).div_euclid(12) - 1;
        Spelled { letter: self.letter, alter: self.alter, octave }
    }
    /// Reads a letter and at most two sharps or flats from the start of `text`; returns the name and the rest of the text.
    pub(super) fn leading(text: &str) -> Option<(Self, &str)> {
        let mut letters = text.chars();
        let letter = Letter::of(letters.next()?)?;
        let rest = letters.as_str();
        let (alter, rest) = ["##", "♯♯", "x", "𝄪", "bb", "♭♭", "𝄫", "#", "♯", "b", "♭"]
            .iter()
            .zip([2, 2, 2, 2, -2, -2, -2, 1, 1, -1, -1])
            .find_map(|(sign, alter)| rest.strip_prefix(sign).map(|after| (alter, after)))
            .unwrap_or((0, rest));
        Some((Self { letter, alter }, rest))
    }
}

impl Spelled {
    /// The letter and its sign, without the octave.
    #[must_use]
    pub const fn name(self) -> PitchName {
        PitchName { letter: self.letter, alter: self.alter }
    }
    /// The note number, 60 for middle C.
    #[must_use]
    pub const fn midi(self) -> i32 {
        12 * (self.octave + 1) + self.letter.half_steps() + self.alter as i32
    }
    /// The sounding pitch of this name.
    #[must_use]
    pub const fn concert(self) -> Concert {
        Concert(self.midi())
    }
    /// The pitch on the player's page that has this name.
    #[must_use]
    pub const fn written(self) -> Written {
        Written(self.midi())
    }
    /// The number of letters from `self` up to `other`; 0 for the same letter in the same octave, whatever its sharps and flats.
    #[must_use]
    pub const fn steps_to(self, other: Self) -> i32 {
        7 * (other.octave - self.octave) + other.letter as i32 - self.letter as i32
    }
    /// Half steps from `self` up to `other`.
    #[must_use]
    pub const fn half_steps_to(self, other: Self) -> HalfSteps {
        HalfSteps(other.midi() - self.midi())
    }
}

impl fmt::Display for PitchName {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.alter < 0 { "b" } else { "#" };
        write!(out, "{}{}", self.letter.sign(), sign.repeat(usize::from(self.alter.unsigned_abs())))
    }
}

impl fmt::Display for Spelled {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}{}", self.name(), self.octave)
    }
}

impl FromStr for PitchName {
    type Err = Unreadable;
    /// Reads `F#`, `Bb`, `Ebb`, `Cx`; letters in either case.
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        match Self::leading(text) {
            Some((name, "")) => Ok(name),
            Some((_, rest)) => Err(Unreadable::at(text, rest, "nothing after the note's name")),
            None => Err(Unreadable::at(text, text, "a letter from A to G")),
        }
    }
}

impl FromStr for Spelled {
    type Err = Unreadable;
    /// Reads `F#3`, `Bb4`, `C-1`; letters in either case, octaves -1 to 10.
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let Some((name, rest)) = PitchName::leading(text) else {
            return Err(Unreadable::at(text, text, "a letter from A to G"));
        };
        let octave = rest.parse::<i32>().ok().filter(|octave| (-1..=10).contains(octave));
        match octave {
            Some(octave) if !rest.starts_with('+') => Ok(Self { letter: name.letter, alter: name.alter, octave }),
            _ => Err(Unreadable::at(text, rest, "the number of an octave, such as 4 from middle C up")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_are_numbered_from_middle_c_as_the_midi_handbook_does() {
        // MIDI 1.0 Detailed Specification: middle C is 60; scientific pitch notation calls it C4.
        for (text, midi) in [
            ("C4", 60),
            ("A4", 69),
            ("F#3", 54),
            ("Bb4", 70),
            ("A0", 21),
            ("C8", 108),
            ("Cb4", 59),
            ("B#3", 60),
            ("C-1", 0),
        ] {
            assert_eq!(text.parse::<Spelled>().map(Spelled::midi), Ok(midi), "{text}");
        }
    }

    #[test]
    fn every_spelling_reads_back_as_it_was_printed() {
        for letter in Letter::ALL {
            for alter in -2..=2 {
                for octave in -1..=9 {
                    let spelled = Spelled { letter, alter, octave };
                    assert_eq!(spelled.to_string().parse(), Ok(spelled));
                    assert_eq!(spelled.name().at(spelled.midi()), spelled);
                    assert_eq!(spelled.name().to_string().parse(), Ok(spelled.name()));
                    assert_eq!(spelled.name().class(), spelled.written().class());
                }
            }
        }
    }

    #[test]
    fn a_name_that_cannot_be_read_says_where_and_what_was_expected() {
        let trouble = "H4".parse::<Spelled>().unwrap_err();
        assert_eq!((trouble.column, trouble.expected), (1, "a letter from A to G"));
        assert_eq!("F#".parse::<Spelled>().unwrap_err().column, 3);
        assert_eq!("Bbb b".parse::<PitchName>().unwrap_err().column, 4);
    }

    #[test]
    fn reading_names_never_panics_on_any_bytes() {
        arbtest::arbtest(|bytes| {
            let text: String = bytes.arbitrary()?;
            let _ = text.parse::<Spelled>();
            let _ = text.parse::<PitchName>();
            Ok(())
        });
    }
}
