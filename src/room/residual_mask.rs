use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

use crate::room::Canceller;

/// Least gain of a bin: a deeper cut would tear holes into the player's sound.
const LEAST: f32 = 0.15;
/// At least this share of the expected echo counts as still in the residual where bins are made softer; less than where the owner of
/// a note is decided (`residual::LEAST_LEFT`), for each bin that is cut in vain takes from the player's own sound.
const LEAST_LEFT_IN_A_BIN: f32 = 0.05;
/// Share of the way to a lower gain that a bin goes with each block, so that an attack of the player is not cut.
const CLOSES: f32 = 0.4;

/// Lowers the bins in which most of the residual may be echo (a Wiener postfilter made from the canceller's own state, as in Enzner
/// and Vary, Signal Processing 86, 2006). A block comes out when the next has gone in.
#[derive(Clone)]
pub(super) struct ResidualMask {
    /// Fourier transform of two blocks.
    forward: Arc<dyn RealToComplex<f32>>,
    /// Inverse Fourier transform of two blocks.
    inverse: Arc<dyn ComplexToReal<f32>>,
    /// Samples of a block.
    block: usize,
    /// Sine window over two blocks, used before and after the transform.
    window: Vec<f32>,
    /// The residual of the block before.
    before: Vec<f32>,
    /// Power of the estimated echo in the block before, in each bin.
    residual_echo_before: Vec<f32>,
    /// Gain of every bin, `LEAST` to 1.
    gains: Vec<f32>,
    /// Memory for two blocks in time.
    wave: Vec<f32>,
    /// Memory for one spectrum.
    spectrum: Vec<Complex<f32>>,
    /// Memory of the Fourier transforms.
    scratch: Vec<Complex<f32>>,
    /// The second half of the last masked frame, to be added to the next block.
    overlap: Vec<f32>,
    /// The newest masked block.
    out: Vec<f32>,
}

impl std::fmt::Debug for ResidualMask {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ResidualMask").field("block", &self.block).finish_non_exhaustive()
    }
}

impl ResidualMask {
    /// A mask for the blocks of `canceller`, open at every bin.
    pub fn new(canceller: &Canceller) -> Self {
        let (block, bins) = (canceller.block(), canceller.bins());
        let mut planner = RealFftPlanner::new();
        let (forward, inverse) = (planner.plan_fft_forward(2 * block), planner.plan_fft_inverse(2 * block));
        let turn = std::f32::consts::PI / (2 * block) as f32;
        let scratch = vec![Complex::default(); forward.get_scratch_len().max(inverse.get_scratch_len())];
        Self {
            block,
            window: (0..2 * block).map(|n| (turn * n as f32).sin()).collect(),
            before: vec![0.0; block],
            residual_echo_before: vec![0.0; bins],
            gains: vec![1.0; bins],
            wave: vec![0.0; 2 * block],
            spectrum: forward.make_output_vec(),
            scratch,
            overlap: vec![0.0; block],
            out: vec![0.0; block],
            forward,
            inverse,
        }
    }

    /// The newest block that went in, without the mask.
    pub fn before(&self) -> &[f32] {
        &self.before
    }

    /// The block that went in before the newest, masked by [`ResidualMask::hear`].
    pub fn out(&self) -> &[f32] {
        &self.out
    }

    /// Takes in what the canceller left of the newest block; `shut` says whether it is to be masked.
    pub fn hear(&mut self, canceller: &Canceller, shut: bool) {
        let residual = canceller.residual();
        if !shut {
            self.before.copy_from_slice(residual);
            self.gains.fill(1.0);
            self.residual_echo_before.fill(0.0);
            return;
        }
        for (n, wave) in self.wave.iter_mut().enumerate() {
            let sample = if n < self.block { self.before[n] } else { residual[n - self.block] };
            *wave = self.window[n] * sample;
        }
        self.before.copy_from_slice(residual);
        let _ = self.forward.process_with_scratch(&mut self.wave, &mut self.spectrum, &mut self.scratch);
        for (k, bin) in self.spectrum.iter_mut().enumerate() {
            let now = canceller.residual_echo()[k] + LEAST_LEFT_IN_A_BIN * canceller.expected()[k];
            let residual_echo = 0.25 * (now + self.residual_echo_before[k]);
            self.residual_echo_before[k] = now;
            let gain = (1.0 - 2.0 * residual_echo / (bin.norm_sqr() + 1e-12)).max(LEAST);
            let last = self.gains[k];
            self.gains[k] = if gain > last { gain } else { (1.0 - CLOSES) * last + CLOSES * gain };
            *bin *= self.gains[k];
        }
        let last = self.spectrum.len() - 1;
        self.spectrum[0].im = 0.0;
        self.spectrum[last].im = 0.0;
        let _ = self.inverse.process_with_scratch(&mut self.spectrum, &mut self.wave, &mut self.scratch);
        let scale = 1.0 / (2 * self.block) as f32;
        for n in 0..self.block {
            self.out[n] = self.overlap[n] + scale * self.window[n] * self.wave[n];
            self.overlap[n] = scale * self.window[self.block + n] * self.wave[self.block + n];
        }
    }
}
