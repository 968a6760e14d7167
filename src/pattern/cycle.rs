use crate::music::{ConcertKey, PitchClass};

/// The order in which a pattern is taken through the twelve keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Cycle {
    /// Down a fifth each time: C F Bb Eb ...
    #[default]
    Fifths,
    /// Up a half step each time.
    HalfSteps,
    /// Down a whole step each time; the other six keys follow a half step higher.
    WholeSteps,
    /// Up a minor third each time; after four keys the next four follow a half step higher.
    MinorThirds,
    /// Down a major third each time; after three keys the next three follow a half step higher.
    MajorThirds,
    /// In random order after the first key.
    Shuffled,
}

impl Cycle {
    /// All cycles with their names in pattern files.
    pub const NAMES: [(&str, Self); 6] = [
        ("fifths", Self::Fifths),
        ("half steps", Self::HalfSteps),
        ("whole steps", Self::WholeSteps),
        ("minor thirds", Self::MinorThirds),
        ("major thirds", Self::MajorThirds),
        ("shuffled", Self::Shuffled),
    ];

    /// The name in pattern files.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|row| row.1 == self).map_or("fifths", |row| row.0)
    }

    /// The twelve keys, each once, beginning with `first`. `below(n)` draws a number from 0 to n - 1; only [`Cycle::Shuffled`] calls
    /// it.
    pub fn keys(self, first: ConcertKey, mut below: impl FnMut(usize) -> usize) -> [ConcertKey; 12] {
        let (step, round) = match self {
            Self::Fifths => (5, 12),
            Self::HalfSteps | Self::Shuffled => (1, 12),
            Self::WholeSteps => (-2, 6),
            Self::MinorThirds => (3, 4),
            Self::MajorThirds => (-4, 3),
        };
        let mut keys = [first; 12];
        for (n, key) in keys.iter_mut().enumerate() {
            let n = n as i32;
            *key = ConcertKey(PitchClass::new(first.0.get() + step * (n % round) + n / round));
        }
        if self == Self::Shuffled {
            for n in (2..12).rev() {
                let other = 1 + below(n) % n;
                keys.swap(n, other);
            }
        }
        keys
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_order_meets_twelve_keys_once_from_any_first_key() {
        for (name, cycle) in Cycle::NAMES {
            assert_eq!(cycle.name(), name);
            for first in ConcertKey::FIFTHS {
                let mut seed = 7;
                let keys = cycle.keys(first, |n| {
                    seed = (seed * 31 + 11) % 101;
                    seed % n
                });
                assert_eq!(keys[0], first);
                let mut classes: Vec<i32> = keys.iter().map(|key| key.0.get()).collect();
                classes.sort_unstable();
                assert_eq!(classes, (0..12).collect::<Vec<_>>(), "{name}");
            }
        }
    }

    #[test]
    fn the_fifths_go_down_as_in_most_changes() {
        let keys = Cycle::Fifths.keys(ConcertKey::FIFTHS[0], |_| 0);
        let names: Vec<&str> = keys.iter().map(|key| key.name()).collect();
        assert_eq!(names, ["C", "F", "Bb", "Eb", "Ab", "Db", "F#", "B", "E", "A", "D", "G"]);
    }
}
