use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use crate::room::Canceller;
use crate::units::{Hertz, SampleRate};

/// Looks that are kept: about a second.
const KEPT: usize = 64;
/// Partials of a note that are looked at.
const PARTIALS: usize = 8;
/// So many times the doubt is clearly more than ours may be.
const BEYOND: f64 = 2.5;
/// A partial with less of what is beyond does not count.
const SLIGHT: f64 = 0.03;
/// Mean of a squared Hann window.
const HANN: f32 = 0.375;

/// A look: what is left in every bin, and how much of it may be ours.
#[derive(Debug, Clone)]
struct Look {
    /// Number of the block that it ends with; the middle of the look is that block's first sample.
    number: i64,
    left: Vec<f32>,
    doubt: Vec<f32>,
}

/// Looks at what a canceller left, to tell whose a note is.
#[derive(Clone)]
pub(super) struct Doubts {
    forward: Arc<dyn RealToComplex<f32>>,
    block: usize,
    per_second: f64,
    looks: Vec<Look>,
    window: Vec<f32>,
    before: Vec<f32>,
    doubt_before: Vec<f32>,
    wave: Vec<f32>,
    spectrum: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
    newest: i64,
    /// The share of what was expected that is never taken for taken out.
    pub floor: f32,
}

impl std::fmt::Debug for Doubts {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Doubts").field("newest", &self.newest).finish_non_exhaustive()
    }
}

/// Powers of a note's partials, and what of them may be ours.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Share {
    left: [f64; PARTIALS],
    doubt: [f64; PARTIALS],
    pub looks: usize,
}

impl Share {
    /// What is left over the doubt, dB.
    pub fn over_db(&self) -> f64 {
        let sum = |all: &[f64]| all.iter().sum::<f64>() + 1e-12;
        10.0 * (sum(&self.left) / sum(&self.doubt)).log10()
    }

    /// What is more than ours may be lies in every second or third partial only: a higher note, and a remnant of ours beside it,
    /// have been taken for one low note.
    pub fn is_of_a_higher(&self) -> bool {
        let beyond = |k: usize| (self.left[k] - BEYOND * self.doubt[k]).max(0.0);
        let all: f64 = (0..PARTIALS).map(beyond).sum();
        let doubted = self.doubt.iter().sum::<f64>() > 1e-3 * self.left.iter().sum::<f64>();
        let there = |k: &usize| beyond(*k) > SLIGHT * all;
        doubted && all > 0.0 && [2, 3, 4, 5].iter().any(|of| (0..PARTIALS).filter(there).all(|k| (k + 1) % of == 0))
    }
}

impl Doubts {
    pub fn new(rate: SampleRate, canceller: &Canceller) -> Self {
        let (block, bins) = (canceller.block(), canceller.bins());
        let forward = RealFftPlanner::new().plan_fft_forward(2 * block);
        let turn = std::f32::consts::TAU / (2 * block) as f32;
        Self {
            block,
            per_second: rate.per_second(),
            looks: vec![Look { number: i64::MIN, left: vec![0.0; bins], doubt: vec![0.0; bins] }; KEPT],
            window: (0..2 * block).map(|n| 0.5 - 0.5 * (turn * n as f32).cos()).collect(),
            before: vec![0.0; block],
            doubt_before: vec![0.0; bins],
            wave: vec![0.0; 2 * block],
            spectrum: forward.make_output_vec(),
            scratch: forward.make_scratch_vec(),
            forward,
            newest: i64::MIN,
            floor: 0.25,
        }
    }

    /// Looks at the block of this number, which the canceller has just heard.
    pub fn look(&mut self, number: i64, canceller: &Canceller) {
        let left = canceller.left();
        for (n, wave) in self.wave.iter_mut().enumerate() {
            let sample = if n < self.block { self.before[n] } else { left[n - self.block] };
            *wave = self.window[n] * sample;
        }
        self.before.copy_from_slice(left);
        let _ = self.forward.process_with_scratch(&mut self.wave, &mut self.spectrum, &mut self.scratch);
        let look = &mut self.looks[number.rem_euclid(KEPT as i64) as usize];
        look.number = number;
        self.newest = number;
        for (k, bin) in self.spectrum.iter().enumerate() {
            look.left[k] = bin.norm_sqr();
            let now = HANN * (canceller.doubt()[k] + self.floor * canceller.expected()[k]);
            look.doubt[k] = 0.5 * (now + self.doubt_before[k]);
            self.doubt_before[k] = now;
        }
    }

    /// The sample after the last one that was looked at.
    pub fn known(&self) -> i64 {
        (self.newest + 1).saturating_mul(self.block as i64)
    }

    /// What of a tone of this pitch was left between two samples, and how much of it may be ours.
    pub fn share(&self, pitch: Hertz, from: i64, to: i64) -> Share {
        let mut share = Share::default();
        let block = self.block as i64;
        let (first, last) = (from.div_euclid(block) + i64::from(from.rem_euclid(block) > 0), to.div_euclid(block));
        for number in first.max(self.newest - KEPT as i64 + 1)..=last.min(self.newest) {
            let look = &self.looks[number.rem_euclid(KEPT as i64) as usize];
            if look.number == number {
                self.add(&mut share, look, pitch);
            }
        }
        share
    }

    fn add(&self, share: &mut Share, look: &Look, pitch: Hertz) {
        share.looks += 1;
        let spacing = self.per_second / (2 * self.block) as f64;
        let mut after = 0;
        for partial in 1..=PARTIALS {
            let middle = (pitch.0 * partial as f64 / spacing).round() as usize;
            // Of partials nearer to each other than three bins none counts twice.
            for k in middle.saturating_sub(1).max(after)..=middle + 1 {
                let (Some(left), Some(doubt)) = (look.left.get(k), look.doubt.get(k)) else { break };
                share.left[partial - 1] += f64::from(*left);
                share.doubt[partial - 1] += f64::from(*doubt);
            }
            after = middle + 2;
        }
    }
}
