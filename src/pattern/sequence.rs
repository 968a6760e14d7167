use crate::music::Degree;

/// How a cell moves on from one repetition to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sequence {
    /// Along the pattern's scale by this many degrees; down below zero.
    Scale(i32),
    /// Exactly, by this many half steps; down below zero.
    Exact(i32),
    /// Exactly, up a fourth and down a fifth in turn, so that the roots go round the fifths.
    Fifths,
}

impl Sequence {
    /// All sequences with their names in pattern files.
    pub(super) const NAMES: [(&str, Self); 15] = [
        ("up the scale", Self::Scale(1)),
        ("down the scale", Self::Scale(-1)),
        ("by thirds up the scale", Self::Scale(2)),
        ("by thirds down the scale", Self::Scale(-2)),
        ("by fourths up the scale", Self::Scale(3)),
        ("by fourths down the scale", Self::Scale(-3)),
        ("up by half steps", Self::Exact(1)),
        ("down by half steps", Self::Exact(-1)),
        ("up by whole steps", Self::Exact(2)),
        ("down by whole steps", Self::Exact(-2)),
        ("up by minor thirds", Self::Exact(3)),
        ("down by minor thirds", Self::Exact(-3)),
        ("up by major thirds", Self::Exact(4)),
        ("down by major thirds", Self::Exact(-4)),
        ("round the fifths", Self::Fifths),
    ];

    /// The name in pattern files.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|row| row.1 == self).map_or("", |row| row.0)
    }

    /// The degree in cell number `cell`, counted from 0, that `degree` of the first cell becomes. `None` where the cell moves along a
    /// scale and `degree` is not in it.
    #[must_use]
    pub fn moved(self, degree: Degree, cell: u32, scale: &[Degree]) -> Option<Degree> {
        let cell = cell as i32;
        match self {
            Self::Scale(places) => along(degree, places * cell, scale),
            Self::Exact(half_steps) => Some((degree + root(half_steps * cell)).readable()),
            Self::Fifths => {
                let fourths = cell.div_euclid(2) + cell.rem_euclid(2);
                Some((degree + root(5 * fourths - 7 * cell.div_euclid(2))).readable())
            }
        }
    }
}

/// The root `half_steps` away, named as roots usually are (common practice): as a flat, but #4 on the way up.
fn root(half_steps: i32) -> Degree {
    Degree::of_half_steps(half_steps, half_steps > 0 && half_steps.rem_euclid(12) == 6)
}

/// `degree` moved by `places` degrees along `scale`, whose degrees fill one octave upward from the tonic. `None` where `degree` is not
/// in the scale.
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
    fn a_cell_moved_exactly_stands_on_roots_as_they_are_usually_named() {
        // Common practice: triads on C Db D Eb ..., never on a doubly flat root.
        let by_half_steps = |cell| moved(Sequence::Exact(1), "1 3 5", cell, "");
        assert_eq!(
            [1, 2, 3, 4, 6, 8].map(by_half_steps),
            ["b2 4 b6", "2 #4 6", "b3 5 b7", "3 #5 7", "#4 #6 #8", "b6 8 b10"]
        );
        assert_eq!([1, 2, 3].map(|cell| moved(Sequence::Exact(4), "1 3", cell, "")), ["3 #5", "b6 8", "8 10"]);
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
