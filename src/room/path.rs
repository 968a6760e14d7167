use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

/// Weight of the least squares against noise, as a share of the cue's energy.
const RIDGE: f64 = 1e-3;
/// Steps of conjugate gradients; more fit the noise.
const STEPS: usize = 20;

/// The path from our own samples to the microphone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Path {
    /// Impulse response from `lag` on.
    pub taps: Vec<f64>,
    /// By how many samples the first tap is late (negative: early).
    pub lag: i64,
    /// Share of the captured energy that the path explains, 0 to 1.
    pub explained: f64,
}

/// A pair of plans for one length. Single precision: 120 dB are far more than a room gives, and one set of transforms serves
/// the whole program.
struct Plans {
    forward: Arc<dyn RealToComplex<f32>>,
    inverse: Arc<dyn ComplexToReal<f32>>,
    size: usize,
}

impl Plans {
    fn new(least: usize) -> Self {
        let size = least.next_power_of_two().max(2);
        let mut planner = RealFftPlanner::new();
        Self { forward: planner.plan_fft_forward(size), inverse: planner.plan_fft_inverse(size), size }
    }
    fn spectrum(&self, part: &[f64]) -> Vec<Complex<f32>> {
        let mut padded: Vec<f32> = part.iter().map(|sample| *sample as f32).collect();
        padded.resize(self.size, 0.0);
        let mut spectrum = self.forward.make_output_vec();
        // All lengths come from the plan, so this cannot fail.
        let _ = self.forward.process(&mut padded, &mut spectrum);
        spectrum
    }
    fn wave(&self, mut spectrum: Vec<Complex<f32>>) -> Vec<f64> {
        let mut wave = self.inverse.make_output_vec();
        // The first and last bins of a real wave have no imaginary part; rounding may have left some.
        if let Some(first) = spectrum.first_mut() {
            first.im = 0.0;
        }
        if let Some(last) = spectrum.last_mut() {
            last.im = 0.0;
        }
        let _ = self.inverse.process(&mut spectrum, &mut wave);
        let scale = 1.0 / self.size as f64;
        wave.iter().map(|sample| f64::from(*sample) * scale).collect()
    }
}

fn product(one: &[Complex<f32>], two: &[Complex<f32>]) -> Vec<Complex<f32>> {
    one.iter().zip(two).map(|(a, b)| a * b).collect()
}

/// Agreement of `captured` with `played` at every lag of `lags` (in samples), scaled so that a mere copy has 1.
pub(super) fn agreement(played: &[f64], captured: &[f64], lags: std::ops::Range<i64>) -> Vec<(i64, f64)> {
    let plans = Plans::new(played.len() + captured.len());
    let (one, two) = (plans.spectrum(played), plans.spectrum(captured));
    let conjugate: Vec<_> = one.iter().map(Complex::conj).collect();
    let wave = plans.wave(product(&conjugate, &two));
    let energy = |part: &[f64]| part.iter().map(|s| s * s).sum::<f64>();
    let scale = (energy(played) * energy(captured)).sqrt().max(1e-20);
    lags.map(|lag| (lag, wave[lag.rem_euclid(plans.size as i64) as usize] / scale)).collect()
}

/// Estimates the path by least squares: `captured` is what the microphone gave while `played` was sounded, both from the
/// same instant; taps begin at `lag` and are weighed by a decay of 60 dB in `reverberation` samples.
///
/// Normal equations with the autocorrelation of `played` (the autocorrelation method, Makhoul, Proc. IEEE 63, 1975), solved
/// by conjugate gradients (Hestenes and Stiefel 1952) on taps divided by the decay, which stands for what is known of rooms
/// beforehand.
pub(super) fn estimate(played: &[f64], captured: &[f64], lag: i64, taps: usize, reverberation: f64) -> Path {
    let plans = Plans::new(played.len().max(captured.len()) + taps + lag.unsigned_abs() as usize);
    let (sent, came) = (plans.spectrum(played), plans.spectrum(captured));
    let power: Vec<_> = sent.iter().map(|bin| Complex::new(bin.norm_sqr(), 0.0)).collect();
    let auto = plans.wave(power);
    let conjugate: Vec<_> = sent.iter().map(Complex::conj).collect();
    let cross = plans.wave(product(&conjugate, &came));
    let wrapped = |index: i64| cross[index.rem_euclid(plans.size as i64) as usize];
    let weights: Vec<f64> = (0..taps).map(|tap| 10f64.powf(-3.0 * tap as f64 / reverberation)).collect();
    let wanted: Vec<f64> = weights.iter().enumerate().map(|(tap, weight)| weight * wrapped(lag + tap as i64)).collect();
    let small = Plans::new(2 * taps);
    let mut ring = vec![0.0; small.size];
    for (tap, value) in auto.iter().take(taps).enumerate() {
        ring[tap] = *value;
        if tap > 0 {
            ring[small.size - tap] = *value;
        }
    }
    let ring = small.spectrum(&ring);
    let ridge = RIDGE * auto[0].max(1e-12);
    let apply = |vector: &[f64]| -> Vec<f64> {
        let weighed: Vec<f64> = vector.iter().zip(&weights).map(|(v, w)| v * w).collect();
        let through = small.wave(product(&small.spectrum(&weighed), &ring));
        through.iter().zip(&weights).zip(vector).map(|((t, w), v)| t * w + ridge * v).collect()
    };
    let solved = conjugate_gradients(apply, &wanted);
    let taps: Vec<f64> = solved.iter().zip(&weights).map(|(v, w)| v * w).collect();
    let mut path = Path { taps, lag, explained: 0.0 };
    let echo = path.echo(played, 0, captured.len());
    let (mut left, mut all) = (0.0, 1e-20);
    for (came, told) in captured.iter().zip(&echo) {
        left += (came - told).powi(2);
        all += came * came;
    }
    path.explained = (1.0 - left / all).clamp(0.0, 1.0);
    path
}

fn conjugate_gradients(apply: impl Fn(&[f64]) -> Vec<f64>, wanted: &[f64]) -> Vec<f64> {
    let dot = |one: &[f64], two: &[f64]| one.iter().zip(two).map(|(a, b)| a * b).sum::<f64>();
    let mut solved = vec![0.0; wanted.len()];
    let mut left = wanted.to_vec();
    let mut way = wanted.to_vec();
    let mut size = dot(&left, &left);
    for _ in 0..STEPS {
        let moved = apply(&way);
        let along = dot(&way, &moved);
        if size < 1e-30 || along <= 0.0 {
            break;
        }
        let step = size / along;
        for index in 0..solved.len() {
            solved[index] += step * way[index];
            left[index] -= step * moved[index];
        }
        let next = dot(&left, &left);
        for (way, left) in way.iter_mut().zip(&left) {
            *way = left + next / size * *way;
        }
        size = next;
    }
    solved
}

impl Path {
    /// What of `played` comes back through this path, samples `from` to `to` counted from the first of `played`.
    pub fn echo(&self, played: &[f64], from: usize, to: usize) -> Vec<f64> {
        // Only what was played within reach of the taps matters.
        let begin = (from as i64 - self.lag - self.taps.len() as i64).clamp(0, played.len() as i64) as usize;
        let finish = (to as i64 - self.lag).clamp(begin as i64, played.len() as i64) as usize;
        let part = &played[begin..finish];
        let plans = Plans::new(part.len() + self.taps.len());
        let wave = plans.wave(product(&plans.spectrum(part), &plans.spectrum(&self.taps)));
        let offset = begin as i64 + self.lag;
        (from as i64..to as i64)
            .map(|at| usize::try_from(at - offset).ok().and_then(|index| wave.get(index)).copied().unwrap_or(0.0))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_late_soft_copy_is_found_where_it_is_and_explained() {
        // A chirp: every lag looks different.
        let played: Vec<f64> = (0..4000).map(|n| (1e-4 * f64::from(n) * f64::from(n)).sin()).collect();
        let mut captured = vec![0.0; 5000];
        for (index, sample) in played.iter().enumerate() {
            captured[index + 120] += 0.5 * sample;
            captured[index + 200] += 0.25 * sample;
        }
        let (lag, best) = agreement(&played, &captured, -50..400)
            .into_iter()
            .max_by(|one, two| one.1.total_cmp(&two.1))
            .expect("lags");
        assert_eq!(lag, 120);
        assert!((best - 0.894).abs() < 0.05, "{best}"); // .5 / sqrt(.25 + .0625)
        let path = estimate(&played, &captured, 100, 400, 800.0);
        assert!(path.explained > 0.98, "{}", path.explained);
        let echo = path.echo(&played, 1000, 2000);
        for (index, sample) in echo.iter().enumerate() {
            assert!((sample - captured[1000 + index]).abs() < 0.1);
        }
    }
}
