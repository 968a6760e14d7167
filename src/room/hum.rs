use std::f64::consts::TAU;

use crate::units::{Decibels, Hertz, SampleRate};

/// Mean power at `hz` within about a hertz of resolution of the stretch (Goertzel 1958, Hann window).
fn power_at(samples: &[f32], rate: SampleRate, hz: f64) -> f64 {
    let count = samples.len() as f64;
    let (mut re, mut im) = (0.0, 0.0);
    for (index, sample) in samples.iter().enumerate() {
        let window = 1.0 - (TAU * index as f64 / count).cos();
        let turn = TAU * hz * index as f64 / rate.per_second();
        re += window * f64::from(*sample) * turn.cos();
        im += window * f64::from(*sample) * turn.sin();
    }
    2.0 * (re * re + im * im) / (count * count)
}

/// Mains hum in a quiet stretch of half a second or more: the mains frequency and the level of its first four harmonics,
/// where at least two of them stand 12 dB above their surroundings.
pub(super) fn hum(quiet: &[f32], rate: SampleRate) -> Option<(Hertz, Decibels)> {
    let told = [50.0, 60.0].map(|mains| {
        let (mut all, mut standing) = (0.0, 0);
        for harmonic in 1..=4 {
            let hz = mains * f64::from(harmonic);
            let here = power_at(quiet, rate, hz);
            let beside = [-17.0, -11.0, 11.0, 17.0].map(|off| power_at(quiet, rate, hz + off));
            let around = beside.iter().sum::<f64>() / 4.0;
            if here > 16.0 * around.max(1e-14) {
                standing += 1;
                all += here;
            }
        }
        (mains, all, standing)
    });
    let (mains, power, standing) = if told[0].1 >= told[1].1 { told[0] } else { told[1] };
    (standing >= 2).then(|| (Hertz(mains), Decibels::of_power(power)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hum_is_told_from_a_low_note_and_from_the_other_mains() {
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
