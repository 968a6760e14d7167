use std::ops::Range;
use std::sync::LazyLock;

use crate::free::line::FreeLine;
use crate::music::PitchClass;
use crate::pattern::{Family, LinePart, Quality, SplitLine, split};

/// The chords after which a part by skips may be named, the plainest first.
const NAMED: [&str; 18] = [
    "maj", "m", "dim", "aug", "7", "m7", "maj7", "m7b5", "dim7", "6", "mMaj7", "7sus4", "maj7#5", "7#5", "9", "maj9",
    "m9", "7b9",
];

/// A part of a free line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FreePart {
    /// The family of the part: stepwise, half steps or skips.
    pub family: Family,
    /// The notes of the part, by index; the first may be the last of the part before.
    pub notes: Range<usize>,
    /// In a part by skips, the chord that has exactly the tones of the part; `None` where no chord has.
    pub chord: Option<(PitchClass, Quality)>,
    /// How many of its moves go from a note to the same note.
    pub again: usize,
}

/// A free line in its parts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FreeParts {
    /// The parts in order; a note between two of them may belong to none.
    pub parts: Vec<FreePart>,
    /// Other readings of some stretches, nearly as good as those in `parts` ([`SplitLine::others`]).
    pub others: Vec<FreePart>,
}

static CHORDS: LazyLock<Vec<(u16, Quality)>> = LazyLock::new(|| {
    let named = NAMED.iter().filter_map(|name| Quality::parse(name));
    named.map(|quality| (set(quality.tones().iter().map(|tone| tone.half_steps)), quality)).collect()
});

fn set(heights: impl Iterator<Item = i32>) -> u16 {
    heights.fold(0, |set, height| set | 1 << height.rem_euclid(12))
}

/// The chord that has exactly the tones of these notes.
fn chord(heights: &[i32]) -> Option<(PitchClass, Quality)> {
    let sounds = set(heights.iter().copied());
    let lowest = heights.iter().min().copied().unwrap_or(0);
    CHORDS.iter().find_map(|(tones, quality)| {
        // Where the same notes make this chord on several roots (a diminished seventh), the lowest note is taken for the root.
        let mut roots = (0..12).map(|up| lowest + up).filter(|root| {
            let up = root.rem_euclid(12);
            sounds == (tones << up | tones >> (12 - up)) & 0xfff
        });
        roots.next().map(|root| (PitchClass::new(root), *quality))
    })
}

impl FreeParts {
    /// Takes a line apart.
    #[must_use]
    pub fn of(line: &FreeLine) -> Self {
        let heights = line.heights();
        let SplitLine { parts, others } = split(&heights, &line.between());
        let named = |LinePart { family, notes }: LinePart| {
            let chord = (family == Family::Skips).then(|| chord(&heights[notes.clone()])).flatten();
            let again = heights[notes.clone()].windows(2).filter(|pair| pair[0] == pair[1]).count();
            FreePart { family, chord, notes, again }
        };
        Self { parts: parts.into_iter().map(named).collect(), others: others.into_iter().map(named).collect() }
    }

    /// How many moves from note to another note lie in the parts of a family.
    #[must_use]
    pub fn moves(&self, family: Family) -> usize {
        self.parts.iter().filter(|part| part.family == family).map(|part| part.notes.len() - 1 - part.again).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chord_is_named_by_all_of_its_tones() {
        let named = |heights: &[i32]| chord(heights).map(|(root, quality)| (root.get(), quality.name()));
        // Common practice: D F# A C# is D major seventh, B D F Ab a diminished seventh on its lowest note, C F Bb none of them.
        assert_eq!(named(&[62, 66, 69, 73]), Some((2, Quality::parse("maj7").unwrap().name())));
        assert_eq!(named(&[59, 62, 65, 68]), Some((11, Quality::parse("dim7").unwrap().name())));
        assert_eq!(named(&[67, 64, 60]), Some((0, Quality::parse("maj").unwrap().name())));
        assert_eq!(named(&[60, 65, 70]), None);
        // D F A C E is D minor with seventh and ninth.
        assert_eq!(named(&[62, 65, 69, 72, 76]), Some((2, Quality::parse("m9").unwrap().name())));
    }
}
