use std::fmt;
use std::ops::{Add, Sub};

/// Half steps of the major scale above its tonic.
const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];

/// A spelled distance above or below a tonic: how many letters and how many half steps away.
///
/// The flat third is 2 letters and 3 half steps, the sharp second 1 letter and 3 half steps: one sound, two spellings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Degree {
    /// Letters from the tonic: 0 for the tonic, 7 for its octave, -1 for the letter below.
    pub letters: i32,
    /// Half steps from the tonic.
    pub half_steps: i32,
}

impl Degree {
    /// The tonic.
    pub const TONIC: Self = Self { letters: 0, half_steps: 0 };

    /// A degree of the major scale `letters` above the tonic, raised by `alteration` half steps.
    #[must_use]
    pub const fn altered(letters: i32, alteration: i32) -> Self {
        Self { letters, half_steps: major(letters) + alteration }
    }
    /// Half steps above the same letter of the major scale: -1 for a flat, 1 for a sharp.
    #[must_use]
    pub const fn alteration(self) -> i32 {
        self.half_steps - major(self.letters)
    }
    /// The place on the line of fifths, counted upward from the tonic: the degree 5 stands at 1, the degree 4 at -1, the degree b2 at -5.
    #[must_use]
    pub const fn fifths(self) -> i32 {
        [0, 2, 4, -1, 1, 3, 5][self.letters.rem_euclid(7) as usize] + 7 * self.alteration()
    }
    /// The same degree some octaves higher.
    #[must_use]
    pub const fn octaves_up(self, octaves: i32) -> Self {
        Self { letters: self.letters + 7 * octaves, half_steps: self.half_steps + 12 * octaves }
    }
    /// The usual spelling of a distance in half steps: sharps going up, flats coming down (common practice for chromatic
    /// lines).
    #[must_use]
    pub const fn of_half_steps(half_steps: i32, rising: bool) -> Self {
        let up = [0, 0, 1, 1, 2, 3, 3, 4, 4, 5, 5, 6];
        let down = [0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6];
        let class = half_steps.rem_euclid(12) as usize;
        let letter = if rising { up[class] } else { down[class] };
        Self { letters: letter + 7 * half_steps.div_euclid(12), half_steps }
    }
    /// The degree itself, or its usual spelling where it needs more than a double sharp or flat.
    #[must_use]
    pub const fn readable(self) -> Self {
        let alteration = self.alteration();
        if alteration.abs() <= 2 { self } else { Self::of_half_steps(self.half_steps, alteration > 0) }
    }
    /// Reads a degree as it is written in a pattern, such as `b3`, `#4`, `7,` and `15`: at most a double sharp or flat, a number from 1 to
    /// 15, and at most three commas, each for an octave down. `None` for anything else.
    #[must_use]
    pub fn parse(word: &str) -> Option<Self> {
        let number_at = word.find(|c: char| c.is_ascii_digit())?;
        let number = &word[number_at..];
        let digits_end = number.find(|c: char| !c.is_ascii_digit()).unwrap_or(number.len());
        let value: i32 = number[..digits_end].parse().ok()?;
        let commas = &number[digits_end..];
        if !(1..=15).contains(&value)
            || number.starts_with('0')
            || commas.len() > 3
            || commas.bytes().any(|c| c != b',')
        {
            return None;
        }
        let alteration = match &word[..number_at] {
            "" => 0,
            "b" | "♭" => -1,
            "bb" | "♭♭" => -2,
            "#" | "♯" => 1,
            "x" | "##" | "♯♯" => 2,
            _ => return None,
        };
        Some(Self::altered(value - 1, alteration).octaves_up(-(commas.len() as i32)))
    }
}

/// The half steps from the tonic to the degree of the major scale that is `letters` away.
const fn major(letters: i32) -> i32 {
    MAJOR[letters.rem_euclid(7) as usize] + 12 * letters.div_euclid(7)
}

impl Add for Degree {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { letters: self.letters + other.letters, half_steps: self.half_steps + other.half_steps }
    }
}

impl Sub for Degree {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { letters: self.letters - other.letters, half_steps: self.half_steps - other.half_steps }
    }
}

impl fmt::Display for Degree {
    /// The canonical spelling: without commas from the tonic up, and below the tonic with as few commas as possible. Degrees above 15
    /// are printed too, for a sequence may reach them, although [`Degree::parse`] reads none above 15.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let alteration = self.alteration();
        let sign = match alteration {
            -2 => "bb",
            -1 => "b",
            0 => "",
            1 => "#",
            _ => "x",
        };
        let (letter, commas) = match self.letters {
            up @ 0.. => (up, 0),
            below => (below.rem_euclid(7), -below.div_euclid(7)),
        };
        write!(out, "{sign}{}{}", letter + 1, ",".repeat(commas as usize))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_are_counted_from_the_major_scale() {
        // Chord and scale degrees as in any harmony handbook (common practice).
        for (word, half_steps) in
            [("1", 0), ("b3", 3), ("#4", 6), ("bb7", 9), ("8", 12), ("b9", 13), ("15", 24), ("7,", -1), ("5,,", -17)]
        {
            assert_eq!(Degree::parse(word).unwrap().half_steps, half_steps, "{word}");
        }
    }

    #[test]
    fn every_degree_has_one_canonical_spelling_that_reads_back() {
        for letters in -21..=14 {
            for alteration in -2..=2 {
                let degree = Degree::altered(letters, alteration);
                assert_eq!(Degree::parse(&degree.to_string()), Some(degree), "{degree}");
            }
        }
        assert_eq!(Degree::parse("8,").unwrap().to_string(), "1");
        assert_eq!(Degree::parse("##4").unwrap().to_string(), "x4");
        assert_eq!(Degree::altered(17, -1).to_string(), "b18", "three octaves up stands no octave lower in print");
    }

    #[test]
    fn what_is_no_degree_is_refused() {
        for word in ["", "b", "0", "16", "3b", "1'", "bbb7", "07", "1,,,,", "b3x", "9999999999", "#", "é3"] {
            assert_eq!(Degree::parse(word), None, "{word}");
        }
    }

    #[test]
    fn chromatic_lines_take_sharps_going_up_and_flats_coming_down() {
        let names =
            |rising| (0..12).map(|n| Degree::of_half_steps(n, rising).to_string()).collect::<Vec<_>>().join(" ");
        assert_eq!(names(true), "1 #1 2 #2 3 4 #4 5 #5 6 #6 7");
        assert_eq!(names(false), "1 b2 2 b3 3 4 b5 5 b6 6 b7 7");
    }
}
