use std::f64::consts::PI;

/// Products of two equally long slices, summed in eight lanes so that the compiler may use wide registers.
pub(super) fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0f32; 8];
    let (a_chunks, b_chunks) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f32 = a_chunks.remainder().iter().zip(b_chunks.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a_chunks.zip(b_chunks) {
        for lane in 0..8 {
            lanes[lane] += x[lane] * y[lane];
        }
    }
    let [a, b, c, d, e, f, g, h] = lanes;
    ((a + e) + (b + f)) + ((c + g) + (d + h)) + rest
}

/// Sums of products, as [`dot`], of `a` with the samples of `b` from each of `N` places on: the first sample, and every `step`th
/// one after it. Several sums together take hardly longer than one.
pub(super) fn dots<const N: usize>(a: &[f32], b: &[f32], step: usize) -> [f32; N] {
    let mut lanes = [[0.0f32; 8]; N];
    for (chunk, x) in a.chunks_exact(8).enumerate() {
        for (place, lanes) in lanes.iter_mut().enumerate() {
            let y = &b[8 * chunk + place * step..][..8];
            for lane in 0..8 {
                lanes[lane] += x[lane] * y[lane];
            }
        }
    }
    let whole = a.len() - a.len() % 8;
    std::array::from_fn(|place| {
        let rest: f32 = a[whole..].iter().zip(&b[whole + place * step..]).map(|(x, y)| x * y).sum();
        let [a, b, c, d, e, f, g, h] = lanes[place];
        ((a + e) + (b + f)) + ((c + g) + (d + h)) + rest
    })
}

/// A Butterworth high-pass of second order (bilinear transform of the analogue prototype; Oppenheim and Schafer, ch. 7).
#[derive(Debug, Clone)]
pub(super) struct HighPass {
    /// Coefficient of the newest sample and of the one two before it; the sample between them has minus twice this.
    gain: f64,
    /// Coefficient of the last output.
    a1: f64,
    /// Coefficient of the second last output.
    a2: f64,
    /// First state (transposed direct form II).
    s1: f64,
    /// Second state.
    s2: f64,
}

impl HighPass {
    /// A filter that is 3 dB down at `cutoff_hz`.
    pub(super) fn new(cutoff_hz: f64, rate_hz: f64) -> Self {
        let k = (PI * cutoff_hz / rate_hz).tan();
        let norm = 1.0 / (1.0 + k * std::f64::consts::SQRT_2 + k * k);
        Self {
            gain: norm,
            a1: 2.0 * (k * k - 1.0) * norm,
            a2: (1.0 - k * std::f64::consts::SQRT_2 + k * k) * norm,
            s1: 0.0,
            s2: 0.0,
        }
    }

    /// Filters the next samples where they stand.
    pub(super) fn filter(&mut self, samples: &mut [f32]) {
        let (mut s1, mut s2) = (self.s1, self.s2);
        for sample in samples {
            let x = self.gain * f64::from(*sample);
            let y = x + s1;
            s1 = (s2 - 2.0 * x) - self.a1 * y;
            s2 = x - self.a2 * y;
            *sample = y as f32;
        }
        (self.s1, self.s2) = (s1, s2);
    }

    /// States too small to matter become zero, since subnormal numbers are slow.
    pub(super) fn rest(&mut self) {
        (self.s1, self.s2) = (flush(self.s1), flush(self.s2));
    }
}

/// A high-pass of first order (one pole, and one zero at 0 Hz; common practice).
#[derive(Debug, Clone)]
pub(super) struct GentleHighPass {
    /// Coefficient of the last output.
    pole: f64,
    /// Coefficient of the difference of the last two samples.
    gain: f64,
    /// The last sample.
    x1: f64,
    /// The last output.
    y1: f64,
}

impl GentleHighPass {
    /// A filter that is 3 dB down at `cutoff_hz`.
    pub(super) fn new(cutoff_hz: f64, rate_hz: f64) -> Self {
        let k = (PI * cutoff_hz / rate_hz).tan();
        Self { pole: (1.0 - k) / (1.0 + k), gain: 1.0 / (1.0 + k), x1: 0.0, y1: 0.0 }
    }

    /// The next sample.
    pub(super) fn next(&mut self, x: f64) -> f64 {
        self.y1 = flush(self.pole * self.y1 + self.gain * (x - self.x1));
        self.x1 = x;
        self.y1
    }
}

fn flush(state: f64) -> f64 {
    if state.abs() < 1e-20 { 0.0 } else { state }
}

/// Taps of a linear-phase low-pass: a sinc under a Hamming window (common practice), unit gain at 0 Hz.
pub(super) fn low_pass(cutoff_hz: f64, rate_hz: f64, taps: usize) -> Vec<f32> {
    let middle = (taps as f64 - 1.0) / 2.0;
    let raw: Vec<f64> = (0..taps)
        .map(|i| {
            let t = i as f64 - middle;
            let turn = 2.0 * cutoff_hz / rate_hz;
            let sinc = if t.abs() < 1e-9 { turn } else { (PI * turn * t).sin() / (PI * t) };
            sinc * (0.54 - 0.46 * (2.0 * PI * i as f64 / (taps as f64 - 1.0).max(1.0)).cos())
        })
        .collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|t| (t / sum) as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gain_of(mut filter: impl FnMut(f64) -> f64, hz: f64, rate: f64) -> f64 {
        let out: Vec<f64> = (0..rate as usize).map(|n| filter((2.0 * PI * hz * n as f64 / rate).sin())).collect();
        (out[out.len() / 2..].iter().map(|y| y * y).sum::<f64>() / (out.len() / 2) as f64 * 2.0).sqrt()
    }

    #[test]
    fn high_passes_are_three_decibels_down_at_their_corner() {
        // Definition of the Butterworth corner: power halved.
        for rate in [8000.0, 44_100.0] {
            let mut second = HighPass::new(30.0, rate);
            let mut next = |x| {
                let mut sample = [x as f32];
                second.filter(&mut sample);
                f64::from(sample[0])
            };
            assert!((gain_of(&mut next, 30.0, rate) - 0.5f64.sqrt()).abs() < 0.01);
            let mut first = GentleHighPass::new(100.0, rate);
            assert!((gain_of(|x| first.next(x), 100.0, rate) - 0.5f64.sqrt()).abs() < 0.01);
        }
    }

    #[test]
    fn the_low_pass_lets_tones_below_pass_and_stops_those_far_above() {
        let taps = low_pass(3200.0, 44_100.0, 48);
        let gain = |hz: f64| {
            let (mut re, mut im) = (0.0, 0.0);
            for (i, t) in taps.iter().enumerate() {
                let angle = 2.0 * PI * hz * i as f64 / 44_100.0;
                re += f64::from(*t) * angle.cos();
                im += f64::from(*t) * angle.sin();
            }
            re.hypot(im)
        };
        assert!((gain(500.0) - 1.0).abs() < 0.01 && gain(9000.0) < 0.01);
    }

    #[test]
    fn a_dot_product_takes_the_rest_along() {
        let a: Vec<f32> = (0..19).map(|i| i as f32).collect();
        assert_eq!(dot(&a, &a), (0..19).map(|i| (i * i) as f32).sum::<f32>());
        assert_eq!(dots(&a[..17], &a, 1), [0, 1, 2].map(|place| dot(&a[..17], &a[place..place + 17])));
    }
}
