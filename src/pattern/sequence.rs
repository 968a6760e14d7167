use crate::music::Degree;

/// How a cell moves on from one repetition to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sequence {
    /// Along the pattern's scale by this many places (negative: down).
    Scale(i32),
    /// Exactly, by this interval (negative: down).
    Exact(Degree),
    /// Exactly, up a fourth and down a fifth in turn, so that the roots go round the fifths.
    Fifths,
}

impl Sequence {
    /// All of them with their names in pattern files.
    pub(super) const NAMES: [(&str, Self); 15] = [
        ("up the scale", Self::Scale(1)),
        ("down the scale", Self::Scale(-1)),
        ("by thirds up the scale", Self::Scale(2)),
        ("by thirds down the scale", Self::Scale(-2)),
        ("by fourths up the scale", Self::Scale(3)),
        ("by fourths down the scale", Self::Scale(-3)),
        ("up by half steps", Self::Exact(Degree { letters: 1, half_steps: 1 })),
        ("down by half steps", Self::Exact(Degree { letters: -1, half_steps: -1 })),
        ("up by whole steps", Self::Exact(Degree { letters: 1, half_steps: 2 })),
        ("down by whole steps", Self::Exact(Degree { letters: -1, half_steps: -2 })),
        ("up by minor thirds", Self::Exact(Degree { letters: 2, half_steps: 3 })),
        ("down by minor thirds", Self::Exact(Degree { letters: -2, half_steps: -3 })),
        ("up by major thirds", Self::Exact(Degree { letters: 2, half_steps: 4 })),
        ("down by major thirds", Self::Exact(Degree { letters: -2, half_steps: -4 })),
        ("round the fifths", Self::Fifths),
    ];

    /// Where `degree` of the first cell stands in cell number `cell` (the first is 0). `None` when the cell moves along a
    /// scale in which the note has no place.
    #[must_use]
    pub fn moved(self, degree: Degree, cell: u32, scale: &[Degree]) -> Option<Degree> {
        let cell = cell as i32;
        match self {
            Self::Scale(places) => along(degree, places * cell, scale),
            Self::Exact(interval) => Some(
                (degree + Degree { letters: interval.letters * cell, half_steps: interval.half_steps * cell })
                    .readable(),
            ),
            Self::Fifths => {
                let fourths = cell.div_euclid(2) + cell.rem_euclid(2);
                let fifths = cell.div_euclid(2);
                let interval = Degree { letters: 3 * fourths - 4 * fifths, half_steps: 5 * fourths - 7 * fifths };
                Some((degree + interval).readable())
            }
        }
    }
}

/// `degree` moved by `places` along `scale` (degrees of one octave, upward from the tonic). `None` when the note has no
/// place in the scale.
pub(super) fn along(degree: Degree, places: i32, scale: &[Degree]) -> Option<Degree> {
    let octave = degree.half_steps.div_euclid(12);
    let class = degree.half_steps.rem_euclid(12);
    let index = scale.iter().position(|note| note.half_steps.rem_euclid(12) == class)? as i32 + places;
    let size = scale.len() as i32;
    Some(scale[index.rem_euclid(size) as usize].octaves_up(octave + index.div_euclid(size)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(text: &str) -> Vec<Degree> {
        text.split(' ').filter_map(Degree::parse).collect()
    }
    fn moved(sequence: Sequence, notes: &str, cell: u32, along: &str) -> String {
        let notes = scale(notes);
        let line: Vec<String> = notes
            .iter()
            .filter_map(|note| sequence.moved(*note, cell, &scale(along)))
            .map(|note| note.to_string())
            .collect();
        line.join(" ")
    }

    #[test]
    fn a_cell_moves_along_its_scale() {
        let major = "1 2 3 4 5 6 7";
        assert_eq!(moved(Sequence::Scale(1), "1 2 3 5", 1, major), "2 3 4 6");
        assert_eq!(moved(Sequence::Scale(-1), "5 3 2 1", 2, major), "3 1 7, 6,");
        assert_eq!(moved(Sequence::Scale(2), "1 b3", 2, "1 2 b3 4 5 6 b7"), "5 b7");
        assert_eq!(moved(Sequence::Scale(1), "1 2 3", 2, "1 2 3 5 6"), "3 5 6");
    }

    #[test]
    fn a_note_outside_the_scale_has_no_place_to_go() {
        assert_eq!(along(Degree::altered(3, 1), 1, &scale("1 2 3 4 5 6 7")), None);
    }

    #[test]
    fn round_the_fifths_stays_in_reach_and_meets_every_root_once() {
        let roots: Vec<i32> =
            (0..12).filter_map(|n| Sequence::Fifths.moved(Degree::TONIC, n, &[])).map(|d| d.half_steps).collect();
        assert!(roots.windows(2).all(|pair| pair[1] - pair[0] == 5 || pair[1] - pair[0] == -7));
        let mut classes: Vec<i32> = roots.iter().map(|n| n.rem_euclid(12)).collect();
        classes.sort_unstable();
        assert_eq!(classes, (0..12).collect::<Vec<_>>());
        assert!(roots.iter().all(|n| (-12..=12).contains(n)), "{roots:?}");
    }
}
