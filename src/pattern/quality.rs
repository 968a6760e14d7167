use crate::music::Degree;

/// A chord quality by its one printed name: `maj7`, `m7b5`, `7alt` ... The plain major triad prints as `maj` alone and as
/// nothing after a Roman numeral.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Quality(usize);

/// Name, name in file names, tones as degrees. Spellings as in any harmony handbook (common practice).
const TABLE: [(&str, &str, &str); 33] = [
    ("maj", "major", "1 3 5"),
    ("m", "minor", "1 b3 5"),
    ("dim", "dim", "1 b3 b5"),
    ("aug", "aug", "1 3 #5"),
    ("sus4", "sus4", "1 4 5"),
    ("maj7", "maj7", "1 3 5 7"),
    ("7", "7", "1 3 5 b7"),
    ("m7", "m7", "1 b3 5 b7"),
    ("m7b5", "m7b5", "1 b3 b5 b7"),
    ("dim7", "dim7", "1 b3 b5 bb7"),
    ("mMaj7", "m-maj7", "1 b3 5 7"),
    ("maj7#5", "maj7-sharp5", "1 3 #5 7"),
    ("7#5", "7-sharp5", "1 3 #5 b7"),
    ("7b5", "7b5", "1 3 b5 b7"),
    ("7sus4", "7sus4", "1 4 5 b7"),
    ("6", "6", "1 3 5 6"),
    ("m6", "m6", "1 b3 5 6"),
    ("6/9", "69", "1 3 5 6 9"),
    ("m6/9", "m69", "1 b3 5 6 9"),
    ("maj9", "maj9", "1 3 5 7 9"),
    ("9", "9", "1 3 5 b7 9"),
    ("m9", "m9", "1 b3 5 b7 9"),
    ("mMaj9", "m-maj9", "1 b3 5 7 9"),
    ("m9b5", "m9b5", "1 b3 b5 b7 9"),
    ("9sus4", "9sus4", "1 4 5 b7 9"),
    ("7b9", "7b9", "1 3 5 b7 b9"),
    ("7#9", "7-sharp9", "1 3 5 b7 #9"),
    ("7sus4b9", "7sus4b9", "1 4 5 b7 b9"),
    ("maj7#11", "maj7-sharp11", "1 3 5 7 9 #11"),
    ("7#11", "7-sharp11", "1 3 5 b7 9 #11"),
    ("7b13", "7b13", "1 3 5 b7 9 11 b13"),
    ("13", "13", "1 3 5 b7 9 11 13"),
    ("7alt", "7alt", "1 3 #5 b7 b9"),
];

impl Quality {
    /// The plain major triad.
    pub const MAJOR: Self = Self(0);

    /// All of them, triads first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..TABLE.len()).map(Self)
    }
    /// The quality of this printed name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        TABLE.iter().position(|row| row.0 == name).map(Self)
    }
    /// The printed name.
    #[must_use]
    pub fn name(self) -> &'static str {
        TABLE[self.0].0
    }
    /// The name as part of a pattern's id: no signs a shell would take for its own.
    #[must_use]
    pub fn slug(self) -> &'static str {
        TABLE[self.0].1
    }
    /// The chord tones, upward from the root.
    #[must_use]
    pub fn tones(self) -> Vec<Degree> {
        TABLE[self.0].2.split(' ').filter_map(Degree::parse).collect()
    }
    /// A chord tone by its number: 1 3 5 7 the tones in order (the sixth of a 6 chord counts as its 7, the fourth of a sus
    /// chord as its 3), 2 4 6 the ninth, eleventh and thirteenth an octave lower. `None` for the seventh of a triad.
    #[must_use]
    pub(super) fn tone(self, number: Degree) -> Option<Degree> {
        let tones = self.tones();
        let stated =
            |letter: i32| tones.iter().skip(4).find(|tone| tone.letters == letter + 7).map(|tone| tone.octaves_up(-1));
        let minor = tones.get(1).is_some_and(|third| third.half_steps != 4);
        let tone = match number.letters.rem_euclid(7) {
            0 => tones.first().copied(),
            2 => tones.get(1).copied(),
            4 => tones.get(2).copied(),
            6 => tones.get(3).copied(),
            1 => stated(1).or(Some(Degree::altered(1, 0))),
            3 => stated(3).or(Some(Degree::altered(3, i32::from(!minor)))),
            _ => stated(5).or(Some(Degree::altered(5, 0))),
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
            assert!(tones.windows(2).all(|pair| pair[0].half_steps < pair[1].half_steps), "{}", quality.name());
            assert_eq!(tones.len(), TABLE[quality.0].2.split(' ').count());
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
