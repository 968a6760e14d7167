use std::sync::LazyLock;

use crate::music::{ChordQuality, Degree, chords, nearest};

/// A chord quality of the table of chords ([`chords`]), printed by its usual symbol, such as `maj7`, `m7b5` and `7alt`. The plain
/// major triad prints as `maj`, and as nothing after a Roman numeral.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Quality(usize);

struct QualityRow {
    name: String,
    slug: String,
    tones: Vec<Degree>,
}

/// The qualities of the table of chords, in its order, with the names that patterns use.
static ROWS: LazyLock<Vec<QualityRow>> =
    LazyLock::new(|| chords().iter().map(|chord| QualityRow::of(&chord.quality)).collect());

impl QualityRow {
    fn of(quality: &ChordQuality) -> Self {
        let name = Some(quality.to_string()).filter(|name| !name.is_empty()).unwrap_or_else(|| "maj".to_owned());
        let slug = match name.as_str() {
            "maj" => "major".to_owned(),
            "m" => "minor".to_owned(),
            name => name.replace("Maj", "-maj").replace('#', "-sharp").replace('/', ""),
        };
        Self { name, slug, tones: quality.degrees() }
    }
}

impl Quality {
    /// The plain major triad, which is the first row of the table.
    pub const MAJOR: Self = Self(0);

    /// All qualities, triads first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..ROWS.len()).map(Self)
    }
    /// The quality of this printed name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        ROWS.iter().position(|row| row.name == name).map(Self)
    }
    /// The quality of this chord; `None` where the chord is not in the table.
    #[must_use]
    pub fn of(chord: &ChordQuality) -> Option<Self> {
        chords().iter().position(|named| named.quality == *chord).map(Self)
    }
    /// The quality that was probably meant: that of the chord symbol, in any usual spelling and with or without a root, or, where
    /// `symbol` cannot be read as a chord, the quality with the nearest name. `None` for a chord that is not in the table.
    #[must_use]
    pub(super) fn meant(symbol: &str) -> Option<Self> {
        match ChordQuality::with_or_without_root(symbol) {
            Ok(chord) => Self::of(&chord),
            Err(_) => nearest(symbol, Self::all().map(Self::name)).and_then(Self::parse),
        }
    }
    /// The quality as chord symbols have it.
    #[must_use]
    pub fn chord(self) -> Option<&'static ChordQuality> {
        chords().get(self.0).map(|named| &named.quality)
    }
    /// The printed name.
    #[must_use]
    pub fn name(self) -> &'static str {
        ROWS.get(self.0).map_or("", |row| row.name.as_str())
    }
    /// The name as part of a pattern's id, without characters that have a meaning in a shell.
    #[must_use]
    pub fn slug(self) -> &'static str {
        ROWS.get(self.0).map_or("", |row| row.slug.as_str())
    }
    /// The chord tones, upward from the root.
    #[must_use]
    pub fn tones(self) -> &'static [Degree] {
        ROWS.get(self.0).map_or(&[], |row| row.tones.as_slice())
    }
    /// A chord tone by its number. 1 3 5 7 are root, third, fifth and seventh; a sixth counts as 7 where there is no seventh, and a
    /// suspended tone as 3. 2 4 6 are ninth, eleventh and thirteenth an octave lower, as the chord has them; where it has none they
    /// are major ninth, perfect eleventh (raised over a major third) and major thirteenth. `None` for a tone that the chord lacks:
    /// the seventh of a triad, the third of `5`, the fifth of `7alt`.
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
            assert_eq!(quality.chord().and_then(Quality::of), Some(quality));
            let tones = quality.tones();
            assert!(tones.windows(2).all(|pair| pair[0].letters <= pair[1].letters), "{}", quality.name());
            assert!(tones.len() >= 2 && tones[0] == Degree::TONIC, "{}", quality.name());
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
            assert!(quality.slug().chars().all(plain), "{}", quality.slug());
        }
        assert_eq!(Quality::MAJOR.tones(), Quality::parse("maj").unwrap().tones());
    }

    #[test]
    fn patterns_and_chord_symbols_know_the_same_chords() {
        let named: Vec<&str> = Quality::all().skip(1).map(Quality::name).collect();
        let printed: Vec<String> = chords().iter().skip(1).map(|chord| chord.quality.to_string()).collect();
        assert_eq!(named, printed);
        // Records of sittings have the ids of patterns, so these ids may not change.
        let slug = |name| Quality::parse(name).unwrap().slug();
        assert_eq!(
            ["maj", "m", "mMaj7", "maj7#5", "6/9", "7#9"].map(slug),
            ["major", "minor", "m-maj7", "maj7-sharp5", "69", "7-sharp9"]
        );
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
