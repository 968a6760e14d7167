use crate::units::Beats;

/// How the bars of a pattern are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Meter {
    /// Four quarters.
    #[default]
    FourFour,
    /// Three quarters.
    ThreeFour,
    /// Six eighths, counted in two dotted quarters.
    SixEight,
}

impl Meter {
    /// All meters with their names in pattern files and in records.
    pub const NAMES: [(&str, Self); 3] = [("4/4", Self::FourFour), ("3/4", Self::ThreeFour), ("6/8", Self::SixEight)];

    /// The name in pattern files and in records.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|row| row.1 == self).map_or("4/4", |row| row.0)
    }
    /// The meter of this name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::NAMES.iter().find(|row| row.0 == name).map(|row| row.1)
    }
    /// How many beats are counted in a bar.
    #[must_use]
    pub const fn count(self) -> u32 {
        match self {
            Self::FourFour => 4,
            Self::ThreeFour => 3,
            Self::SixEight => 2,
        }
    }
    /// The length of a counted beat, in quarter notes.
    #[must_use]
    pub const fn beat(self) -> Beats {
        Beats(if matches!(self, Self::SixEight) { 1.5 } else { 1.0 })
    }
    /// The length of a bar, in quarter notes.
    #[must_use]
    pub fn bar(self) -> Beats {
        Beats(f64::from(self.count()) * self.beat().0)
    }
    /// The length, in quarter notes, of the fewest whole bars that hold `length`; at least one bar.
    #[must_use]
    pub fn whole_bars(self, length: Beats) -> Beats {
        Beats(((length.0 / self.bar().0) - 1e-9).ceil().max(1.0) * self.bar().0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_of_six_eighths_is_as_long_as_one_of_three_quarters_and_is_counted_in_two() {
        assert_eq!(Meter::NAMES.map(|(_, meter)| meter.bar().0), [4.0, 3.0, 3.0]);
        assert_eq!(Meter::NAMES.map(|(_, meter)| meter.count()), [4, 3, 2]);
        for (name, meter) in Meter::NAMES {
            assert_eq!((meter.name(), Meter::parse(name)), (name, Some(meter)));
        }
        assert_eq!(Meter::parse("5/4"), None);
        assert_eq!([0.5, 3.0, 3.5].map(|length| Meter::SixEight.whole_bars(Beats(length)).0), [3.0, 3.0, 6.0]);
    }
}
