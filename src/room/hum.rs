use std::f64::consts::TAU;

use crate::units::{Decibels, Hertz, SampleRate};

/// Number of the lowest harmonics, at least two of which stand out where there is hum.
const TELLING: i32 = 4;
/// Number of harmonics that count for the level of the hum where they stand out.
const HARMONICS: i32 = 12;
/// Hum stands out of its surroundings by this factor of power (12 dB).
const STANDS_OUT: f64 = 16.0;

/// Mean power of a stretch at `hz`, by the algorithm of Goertzel (1958); the stretch has a Hann window of mean 1 (1 - cos) already.
fn power_at(windowed: &[f64], rate: SampleRate, hz: f64) -> f64 {
    let turn = TAU * hz / rate.per_second();
    let (mut last, mut before) = (0.0, 0.0);
    for sample in windowed {
        (last, before) = (sample + 2.0 * turn.cos() * last - before, last);
    }
    let count = windowed.len() as f64;
    2.0 * (last * last + before * before - 2.0 * turn.cos() * last * before) / (count * count)
}

/// Mains hum in a quiet stretch of half a second or more: the mains frequency, and the level of those of its first twelve
/// harmonics together that stand 12 dB above their surroundings. `None` unless at least two of the first four do.
pub(super) fn hum(quiet: &[f32], rate: SampleRate) -> Option<(Hertz, Decibels)> {
    let window = |index: usize| 1.0 - (TAU * index as f64 / quiet.len() as f64).cos();
    let windowed: Vec<f64> = quiet.iter().enumerate().map(|(index, s)| window(index) * f64::from(*s)).collect();
    let reported = [50.0, 60.0].map(|mains| {
        let (mut all, mut standing) = (0.0, 0);
        for harmonic in 1..=HARMONICS {
            let hz = mains * f64::from(harmonic);
            let here = power_at(&windowed, rate, hz);
            let beside = [-17.0, -11.0, 11.0, 17.0].map(|off| power_at(&windowed, rate, hz + off));
            let around = beside.iter().sum::<f64>() / 4.0;
            if here > STANDS_OUT * around.max(1e-14) {
                standing += i32::from(harmonic <= TELLING);
                all += here;
            }
        }
        (mains, all, standing)
    });
    let (mains, power, standing) = if reported[0].1 >= reported[1].1 { reported[0] } else { reported[1] };
    (standing >= 2).then(|| (Hertz(mains), Decibels::of_power(power)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hum_is_no_low_note_and_has_its_own_mains_frequency() {
        let rate = SampleRate::new(8000).expect("not zero");
        let buzz = |hz: f64, amplitude: f64| -> Vec<f32> {
            (0..8000)
                .map(|index| {
                    let turn = TAU * hz * f64::from(index) / 8000.0;
                    (amplitude * (turn.sin() + 0.5 * (2.0 * turn).sin() + 0.3 * (3.0 * turn).sin())) as f32
                })
                .collect()
        };
        let (mains, level) = hum(&buzz(50.0, 0.01), rate).expect("hum");
        assert_eq!(mains, Hertz(50.0));
        assert!((level.0 + 41.7).abs() < 1.0, "{level:?}"); // .01^2 / 2 * (1 + .25 + .09)
        assert_eq!(hum(&buzz(60.0, 0.01), rate).expect("hum").0, Hertz(60.0));
        assert_eq!(hum(&buzz(55.0, 0.01), rate), None);
        assert_eq!(hum(&[0.0; 8000], rate), None);
    }
}
