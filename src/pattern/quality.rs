use std::sync::LazyLock;

use crate::music::{ChordQuality, Degree};

/// A chord quality by its one printed name: `maj7`, `m7b5`, `7alt` ... The plain major triad prints as `maj` alone and as
/// nothing after a Roman numeral.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Quality(usize);

/// Printed name, and name in file names (no sign a shell would take for its own).
const NAMES: [(&str, &str); 33] = [
    ("maj", "major"),
    ("m", "minor"),
    ("dim", "dim"),
    ("aug", "aug"),
    ("sus4", "sus4"),
    ("maj7", "maj7"),
    ("7", "7"),
    ("m7", "m7"),
    ("m7b5", "m7b5"),
    ("dim7", "dim7"),
    ("mMaj7", "m-maj7"),
    ("maj7#5", "maj7-sharp5"),
    ("7#5", "7-sharp5"),
    ("7b5", "7b5"),
    ("7sus4", "7sus4"),
    ("6", "6"),
    ("m6", "m6"),
    ("6/9", "69"),
    ("m6/9", "m69"),
    ("maj9", "maj9"),
    ("9", "9"),
    ("m9", "m9"),
    ("mMaj9", "m-maj9"),
    ("m9b5", "m9b5"),
    ("9sus4", "9sus4"),
    ("7b9", "7b9"),
    ("7#9", "7-sharp9"),
    ("7sus4b9", "7sus4b9"),
    ("maj7#11", "maj7-sharp11"),
    ("7#11", "7-sharp11"),
    ("7b13", "7b13"),
    ("13", "13"),
    ("7alt", "7alt"),
];

/// The tones of each, upward from the root, as the chord symbol spells them.
static TONES: LazyLock<Vec<Vec<Degree>>> = LazyLock::new(|| NAMES.iter().map(|(name, _)| spelled(name)).collect());

fn spelled(name: &str) -> Vec<Degree> {
    let symbol = if name == "maj" { "" } else { name };
    ChordQuality::parse(symbol).map(|quality| quality.degrees()).unwrap_or_default()
}

impl Quality {
    /// The plain major triad.
    pub const MAJOR: Self = Self(0);

    /// All of them, triads first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..NAMES.len()).map(Self)
    }
    /// The quality of this printed name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        NAMES.iter().position(|row| row.0 == name).map(Self)
    }
    /// The printed name.
    #[must_use]
    pub fn name(self) -> &'static str {
        NAMES[self.0].0
    }
    /// The name as part of a pattern's id: no signs a shell would take for its own.
    #[must_use]
    pub fn slug(self) -> &'static str {
        NAMES[self.0].1
    }
    /// The chord tones, upward from the root.
    #[must_use]
    pub fn tones(self) -> &'static [Degree] {
        TONES.get(self.0).map_or(&[], Vec::as_slice)
    }
    /// A chord tone by its number: 1 3 5 7 (the sixth of a 6 chord counts as its 7, the fourth of a sus chord as its 3), 2 4
    /// 6 the ninth, eleventh and thirteenth an octave lower: as the chord names them, or else the plain ninth and thirteenth,
    /// and the eleventh raised over a major third. `None` for the seventh of a triad.
    #[must_use]
    pub(super) fn tone(self, number: Degree) -> Option<Degree> {
        let of = |letters: std::ops::RangeInclusive<i32>| {
            self.tones().iter().copied().find(|tone| letters.contains(&tone.letters))
        };
        let tension = |letter: i32| of(letter + 7..=letter + 7).map(|tone| tone.octaves_up(-1));
        let major = of(2..=2).is_some_and(|third| third.half_steps == 4);
        let tone = match number.letters.rem_euclid(7) {
            0 => Some(Degree::TONIC),
            2 => of(1..=3),
            4 => of(4..=4),
            6 => of(5..=6),
            1 => tension(1).or(Some(Degree::altered(1, 0))),
            3 => tension(3).or(Some(Degree::altered(3, i32::from(major)))),
            _ => tension(5).or(Some(Degree::altered(5, 0))),
        };
        tone.map(|tone| tone.octaves_up(number.letters.div_euclid(7)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_quality_has_its_own_name_and_spelling() {
        for quality in Quality::all() {
            assert_eq!(Quality::parse(quality.name()), Some(quality));
            let tones = quality.tones();
            assert!(tones.windows(2).all(|pair| pair[0].letters <= pair[1].letters), "{}", quality.name());
            assert!(tones.len() >= 3 && tones[0] == Degree::TONIC, "{}", quality.name());
        }
    }

    #[test]
    fn the_diminished_seventh_has_a_doubly_flattened_seventh() {
        let tones = Quality::parse("dim7").unwrap().tones();
        assert_eq!(tones[3], Degree { letters: 6, half_steps: 9 });
    }

    #[test]
    fn the_fourth_tone_of_a_sixth_chord_is_its_sixth() {
        let number = |text| Degree::parse(text).unwrap();
        let tone = |quality, text| Quality::parse(quality).unwrap().tone(number(text)).map(|tone| tone.to_string());
        assert_eq!(tone("6", "7").as_deref(), Some("6"));
        assert_eq!(tone("7sus4", "10").as_deref(), Some("11"));
        assert_eq!(tone("7b9", "9").as_deref(), Some("b9"));
        assert_eq!(tone("m7", "7,").as_deref(), Some("b7,"));
        assert_eq!(tone("m", "7"), None);
    }
}
