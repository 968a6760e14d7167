use std::f64::consts::TAU;

use crate::units::{Hertz, SampleRate};

/// Share of the sampling rate above which no partial but the first is sounded, so that nothing folds back.
const HIGHEST_SHARE: f64 = 0.45;

/// The amplitudes of a tone's partials with fixed phases: a periodic wave that is read at any phase.
#[derive(Debug, Clone, PartialEq)]
pub struct Partials {
    /// Sine and cosine amplitude of the first, second, ... partial.
    waves: Vec<(f64, f64)>,
}

impl Partials {
    /// Partials of these amplitudes (the first is the fundamental's and always stays), leaving out what a tone of the pitch
    /// `highest` could not carry at `rate`. Phases grow with the square of the number, which keeps the peak of many partials low
    /// (Schroeder, IEEE Trans. Inf. Theory 16:85-89, 1970).
    #[must_use]
    pub fn new(amplitudes: &[f64], highest: Hertz, rate: SampleRate) -> Self {
        let fitting = (HIGHEST_SHARE * rate.per_second() / highest.0).floor().max(1.0) as usize;
        let count = amplitudes.len().min(fitting);
        let waves = amplitudes[..count]
            .iter()
            .enumerate()
            .map(|(index, amplitude)| {
                let turn = -0.5 * TAU * (index * index) as f64 / count as f64;
                (amplitude * turn.cos(), amplitude * turn.sin())
            })
            .collect();
        Self { waves }
    }

    /// The cue's own sound: mellow above the staff, and for low notes rich between 200 Hz and 2 kHz, which is what a small
    /// loudspeaker can give (the ear supplies the missing fundamental).
    #[must_use]
    pub fn mellow(pitch: Hertz, rate: SampleRate) -> Self {
        let mut amplitudes = Vec::new();
        for number in 1..=96u32 {
            let hz = pitch.0 * f64::from(number);
            let body = 1.0 / (1.0 + (hz / 900.0).powi(2)) / (1.0 + (hz / 2600.0).powi(4));
            let amplitude = body * f64::from(number).powf(-0.25);
            if number > 1 && (amplitude < 0.002 || hz > 6000.0) {
                break;
            }
            amplitudes.push(amplitude);
        }
        Self::new(&amplitudes, pitch, rate)
    }

    /// The wave at `phase`, in turns of the fundamental. Computed with the recurrence of the multiple angle,
    /// `sin(n + 1)x = 2 cos x sin nx - sin(n - 1)x`, in double precision.
    #[must_use]
    pub fn value(&self, phase: f64) -> f64 {
        let (sin, cos) = (phase.fract() * TAU).sin_cos();
        let (mut sin_before, mut cos_before) = (0.0, 1.0);
        let (mut sin_now, mut cos_now) = (sin, cos);
        let mut sum = 0.0;
        for (by_sin, by_cos) in &self.waves {
            sum += by_sin * sin_now + by_cos * cos_now;
            (sin_before, sin_now) = (sin_now, 2.0 * cos * sin_now - sin_before);
            (cos_before, cos_now) = (cos_now, 2.0 * cos * cos_now - cos_before);
        }
        sum
    }

    /// The first `count` partials alone.
    #[must_use]
    pub fn first(mut self, count: usize) -> Self {
        self.waves.truncate(count);
        self
    }

    /// Sine and cosine amplitude of the first, second, ... partial.
    #[must_use]
    pub fn waves(&self) -> &[(f64, f64)] {
        &self.waves
    }

    /// The largest value of one turn, without its sign, looked for at 1024 places; never zero.
    #[must_use]
    pub fn peak(&self) -> f64 {
        (0..1024).map(|step| self.value(f64::from(step) / 1024.0).abs()).fold(1e-9, f64::max)
    }

    /// Number of partials.
    #[must_use]
    pub fn count(&self) -> usize {
        self.waves.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wave_is_the_sum_of_its_sines() {
        let partials = Partials::new(&[1.0, 0.5, 0.25], Hertz(100.0), SampleRate::DEVICE);
        for step in 0..50 {
            let phase = f64::from(step) * 0.37;
            let plain: f64 = [1.0, 0.5, 0.25]
                .iter()
                .enumerate()
                .map(|(index, amplitude)| {
                    let turn = -0.5 * TAU * (index * index) as f64 / 3.0;
                    amplitude * (TAU * phase * (index + 1) as f64 + turn).sin()
                })
                .sum();
            assert!((partials.value(phase) - plain).abs() < 1e-9);
        }
    }

    #[test]
    fn no_partial_lies_above_the_rate_that_must_carry_it() {
        let partials = Partials::new(&[1.0; 60], Hertz(2000.0), SampleRate::CD);
        assert_eq!(partials.count(), 9); // .45 * 44100 / 2000
    }

    #[test]
    fn a_low_note_keeps_most_of_its_power_where_a_small_loudspeaker_sounds() {
        for hz in [36.7, 41.2, 55.0, 61.7, 82.4] {
            let partials = Partials::mellow(Hertz(hz), SampleRate::DEVICE);
            let (mut within, mut all) = (0.0, 0.0);
            for (index, (by_sin, by_cos)) in partials.waves.iter().enumerate() {
                let power = by_sin * by_sin + by_cos * by_cos;
                all += power;
                if (200.0..2000.0).contains(&(hz * (index + 1) as f64)) {
                    within += power;
                }
            }
            assert!(within / all > 0.5, "{hz}: {}", within / all);
        }
    }
}
