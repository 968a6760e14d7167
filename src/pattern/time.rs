use crate::units::Beats;

/// A length or a place in ticks, small parts of a quarter note: exact for every unit, and for 2 to 9 notes that share one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Ticks(pub i64);

impl Ticks {
    /// The number of ticks in a quarter note: 2^5 * 3^3 * 5 * 7.
    pub const QUARTER: i64 = 30_240;

    /// This length in quarter notes.
    #[must_use]
    pub fn beats(self) -> Beats {
        Beats(self.0 as f64 / Self::QUARTER as f64)
    }
    /// The number of ticks nearest to a length in quarter notes.
    #[must_use]
    pub fn nearest(beats: Beats) -> Self {
        Self((beats.0 * Self::QUARTER as f64).round() as i64)
    }
}

/// How long one token of a pattern lasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Unit {
    /// Four quarters.
    Whole,
    /// Two quarters.
    Half,
    /// One quarter.
    Quarter,
    /// Half a quarter.
    #[default]
    Eighth,
    /// A quarter of a quarter.
    Sixteenth,
    /// A third of a half note.
    QuarterTriplet,
    /// A third of a quarter.
    Triplet,
    /// A third of an eighth.
    SixteenthTriplet,
}

impl Unit {
    /// All units with their names in pattern files.
    pub(super) const NAMES: [(&str, Self); 8] = [
        ("whole", Self::Whole),
        ("half", Self::Half),
        ("quarter", Self::Quarter),
        ("eighth", Self::Eighth),
        ("sixteenth", Self::Sixteenth),
        ("quarter triplet", Self::QuarterTriplet),
        ("triplet", Self::Triplet),
        ("sixteenth triplet", Self::SixteenthTriplet),
    ];
    /// The length of the unit.
    #[must_use]
    pub const fn ticks(self) -> Ticks {
        let quarter = Ticks::QUARTER;
        Ticks(match self {
            Self::Whole => 4 * quarter,
            Self::Half => 2 * quarter,
            Self::Quarter => quarter,
            Self::Eighth => quarter / 2,
            Self::Sixteenth => quarter / 4,
            Self::QuarterTriplet => 2 * quarter / 3,
            Self::Triplet => quarter / 3,
            Self::SixteenthTriplet => quarter / 6,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_can_be_shared_evenly_by_up_to_nine_notes() {
        for (name, unit) in Unit::NAMES {
            for notes in 1..=9 {
                assert_eq!(unit.ticks().0 % notes, 0, "{notes} in one {name}");
            }
        }
    }

    #[test]
    fn three_triplets_fill_a_quarter() {
        assert_eq!(Unit::Triplet.ticks().0 * 3, Unit::Quarter.ticks().0);
        assert_eq!(Ticks(15_120).beats(), Beats(0.5));
        assert_eq!(Ticks::nearest(Beats(0.25)), Unit::Sixteenth.ticks());
    }
}
