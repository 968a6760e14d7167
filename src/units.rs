//! Quantities that cannot be mixed by accident.
//!
//! Every newtype is a plain number whose unit its name or its doc tells. Numbers of different types are never added: two instants
//! differ by [`Seconds`], two pitches by [`Cents`] or half steps, and an index of a sample is never a second.

use std::ops::{Add, Div, Mul, Neg, Sub};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(pub f64);
        impl $name {
            /// The bare number, in the unit of this type.
            #[must_use]
            pub const fn get(self) -> f64 {
                self.0
            }
            /// The larger of two; a NaN loses.
            #[must_use]
            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }
            /// The smaller of two; a NaN loses.
            #[must_use]
            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }
            /// The size without the sign.
            #[must_use]
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }
    };
}

quantity!(
    /// A length of time or an instant on the one clock of a stream, in seconds.
    Seconds
);
quantity!(
    /// A distance between two pitches: a hundredth of an equal-tempered half step.
    Cents
);
quantity!(
    /// A fractional MIDI note number of a *sounding* pitch: 69 is A4, 1 is a half step (MIDI 1.0 Detailed Specification).
    Midi
);
quantity!(
    /// A length or a place in quarter notes.
    Beats
);
quantity!(
    /// A level or a difference of levels, in decibels. A level is relative to full scale: a sample of 1 has 0 dB.
    Decibels
);
quantity!(
    /// A frequency, in hertz. Always above zero where a pitch is meant.
    Hertz
);
quantity!(
    /// Quarter notes a minute.
    Tempo
);

/// Samples a second of one stream, above zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct SampleRate(u32);

/// The index of a sample counted from the first sample of its stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct SampleIndex(pub u64);

impl SampleRate {
    /// 44.1 kHz, the rate of most recordings.
    pub const CD: Self = Self(44_100);
    /// 48 kHz, the rate of most devices.
    pub const DEVICE: Self = Self(48_000);

    /// A rate in hertz; `None` for zero.
    #[must_use]
    pub const fn new(hz: u32) -> Option<Self> {
        if hz == 0 { None } else { Some(Self(hz)) }
    }
    /// Samples a second.
    #[must_use]
    pub const fn hz(self) -> u32 {
        self.0
    }
    /// Samples a second as a float, for arithmetic.
    #[must_use]
    pub fn per_second(self) -> f64 {
        f64::from(self.0)
    }
    /// The number of samples that last `length`, rounded to the nearest; 0 for negative lengths.
    #[must_use]
    pub fn samples(self, length: Seconds) -> usize {
        (length.0 * self.per_second()).round().max(0.0) as usize
    }
    /// How long `count` samples last.
    #[must_use]
    pub fn seconds(self, count: usize) -> Seconds {
        Seconds(count as f64 / self.per_second())
    }
}

impl SampleIndex {
    /// The instant at which this sample sounds, in seconds from the start of its stream.
    #[must_use]
    pub fn at(self, rate: SampleRate) -> Seconds {
        Seconds(self.0 as f64 / rate.per_second())
    }
}

impl Seconds {
    /// The sample nearest to this instant; the first sample for instants before the stream.
    #[must_use]
    pub fn index(self, rate: SampleRate) -> SampleIndex {
        SampleIndex((self.0 * rate.per_second()).round().max(0.0) as u64)
    }
    /// This length in milliseconds, for messages.
    #[must_use]
    pub fn ms(self) -> f64 {
        self.0 * 1000.0
    }
}

impl Tempo {
    /// How long one quarter note lasts.
    #[must_use]
    pub fn beat(self) -> Seconds {
        Seconds(60.0 / self.0)
    }
    /// How long `beats` last.
    #[must_use]
    pub fn lasting(self, beats: Beats) -> Seconds {
        Seconds(beats.0 * 60.0 / self.0)
    }
}

impl Hertz {
    /// The fractional note number at a reference of `a4`: `69 + 12 log2(f / a4)` (equal temperament; ISO 16:1975 for A4).
    #[must_use]
    pub fn midi(self, a4: Hertz) -> Midi {
        Midi(69.0 + 12.0 * (self.0 / a4.0).log2())
    }
}

impl Midi {
    /// The frequency at a reference of `a4`: `a4 * 2^((m - 69) / 12)` (equal temperament).
    #[must_use]
    pub fn hertz(self, a4: Hertz) -> Hertz {
        Hertz(a4.0 * ((self.0 - 69.0) / 12.0).exp2())
    }
    /// The nearest whole note number.
    #[must_use]
    pub fn nearest(self) -> i32 {
        self.0.round() as i32
    }
    /// How far this pitch lies from the nearest equal-tempered note, -50 to 50; above zero where it is sharp.
    #[must_use]
    pub fn cents_off(self) -> Cents {
        Cents((self.0 - self.0.round()) * 100.0)
    }
    /// The distance from `other` up to this pitch; below zero where this pitch is the lower one.
    #[must_use]
    pub fn cents_above(self, other: Midi) -> Cents {
        Cents((self.0 - other.0) * 100.0)
    }
}

impl Decibels {
    /// Level of an amplitude, `20 log10(a)`; -200 dB stands for silence.
    #[must_use]
    pub fn of_amplitude(amplitude: f64) -> Self {
        Self(if amplitude > 1e-10 { 20.0 * amplitude.log10() } else { -200.0 })
    }
    /// Level of a mean power, `10 log10(p)`; -200 dB stands for silence.
    #[must_use]
    pub fn of_power(power: f64) -> Self {
        Self(if power > 1e-20 { 10.0 * power.log10() } else { -200.0 })
    }
    /// The amplitude at this level.
    #[must_use]
    pub fn amplitude(self) -> f64 {
        10f64.powf(self.0 / 20.0)
    }
}

/// The usual reference, A4 = 440 Hz (ISO 16:1975).
pub const A440: Hertz = Hertz(440.0);

/// A whole number to sort by: these numbers stand in the order in which [`f64::total_cmp`] puts the values, by the same formula.
///
/// Most lists are sorted by `sort_by_cached_key`, with keys of few types, because the compiler makes one sorting routine for each
/// type of key. `sort_by` makes one for every closure; those routines were a twentieth of the whole program.
#[must_use]
pub const fn rank(value: f64) -> i64 {
    let bits = value.to_bits().cast_signed();
    bits ^ (((bits >> 63).cast_unsigned()) >> 1).cast_signed()
}

/// The greatest common divisor of two numbers, neither of them below zero; the other number where one is 0.
#[must_use]
pub fn greatest_common<N: Copy + Default + PartialEq + std::ops::Rem<Output = N>>(mut one: N, mut other: N) -> N {
    while other != N::default() {
        (one, other) = (other, one % other);
    }
    one
}

/// The middle value of `values` (mean of the two middle ones for an even count); `None` when empty. The values are sorted by
/// [`f64::total_cmp`], which puts a NaN without a sign last.
#[must_use]
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    match sorted.len() {
        0 => None,
        n if n % 2 == 1 => Some(sorted[middle]),
        _ => Some(0.5 * (sorted[middle - 1] + sorted[middle])),
    }
}

/// The median absolute deviation of `values` about their median; `None` when empty.
#[must_use]
pub fn spread(values: &[f64]) -> Option<f64> {
    let centre = median(values)?;
    median(&values.iter().map(|v| (v - centre).abs()).collect::<Vec<_>>())
}

/// The interval, 0 to 1, that holds the true share in 95 of 100 such counts, where `hits` of `tries` were seen: the score interval
/// (E. B. Wilson 1927, Journal of the American Statistical Association 22, from memory). Without tries it is 0 to 1.
#[must_use]
pub fn share_interval(hits: u32, tries: u32) -> (f64, f64) {
    const Z: f64 = 1.959_963_984_540_054;
    if tries == 0 {
        return (0.0, 1.0);
    }
    let n = f64::from(tries);
    let share = f64::from(hits.min(tries)) / n;
    let middle = (share + Z * Z / (2.0 * n)) / (1.0 + Z * Z / n);
    let half = Z / (1.0 + Z * Z / n) * (share * (1.0 - share) / n + Z * Z / (4.0 * n * n)).sqrt();
    ((middle - half).max(0.0), (middle + half).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_common_divisor_is_the_greatest() {
        assert_eq!(
            [(480, 360), (360, 480), (7, 5), (0, 9), (9, 0)].map(|(a, b)| greatest_common(a, b)),
            [120, 120, 1, 9, 9]
        );
    }

    #[test]
    fn a_share_has_the_interval_of_the_published_table() {
        // R. G. Newcombe 1998, Statistics in Medicine 17, table I, method 3 (from memory): 81 of 263, 15 of 148, 0 of 20, 1 of 29.
        for (hits, tries, low, high) in
            [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]
        {
            let (from, to) = share_interval(hits, tries);
            assert!((from - low).abs() < 1e-4 && (to - high).abs() < 1e-4, "{hits} of {tries}: {from} to {to}");
        }
        assert_eq!(share_interval(0, 0), (0.0, 1.0));
    }

    #[test]
    fn equal_temperament_gives_the_frequencies_of_the_handbook_table() {
        // 12-TET, A4 = 440 (ISO 16:1975; definition of equal temperament).
        for (midi, hz) in [
            (21.0, 27.500),
            (28.0, 41.203),
            (40.0, 82.407),
            (60.0, 261.626),
            (69.0, 440.0),
            (84.0, 1046.502),
            (108.0, 4186.009),
        ] {
            assert!((Midi(midi).hertz(A440).0 - hz).abs() < 5e-4, "{midi}");
            assert!((Midi(midi).hertz(A440).midi(A440).0 - midi).abs() < 1e-9);
        }
    }

    #[test]
    fn a_hertz_more_at_a4_is_almost_four_cents() {
        // 1200 log2(441 / 440), by definition of the cent.
        for (hz, cents) in [(441.0, 3.93), (442.0, 7.85), (443.0, 11.76), (415.0, -101.27), (432.0, -31.77)] {
            assert!((Hertz(hz).midi(A440).cents_above(Midi(69.0)).0 - cents).abs() < 0.01, "{hz}");
        }
    }

    #[test]
    fn eighths_at_120_last_a_quarter_of_a_second() {
        assert!((Tempo(120.0).lasting(Beats(0.5)).0 - 0.25).abs() < 1e-12);
        assert_eq!(SampleRate::CD.samples(Seconds(0.25)), 11_025);
    }

    #[test]
    fn ranks_stand_in_the_order_of_their_values() {
        let values = [f64::NEG_INFINITY, -2.0, -1e-9, -0.0, 0.0, 1e-300, 1.0, 1.5, f64::INFINITY, f64::NAN];
        assert!(values.windows(2).all(|pair| rank(pair[0]) < rank(pair[1])));
    }

    #[test]
    fn the_median_of_an_even_count_is_between_the_middle_two() {
        assert_eq!(median(&[4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(median(&[]), None);
        assert_eq!(spread(&[1.0, 2.0, 10.0]), Some(1.0));
    }
}
