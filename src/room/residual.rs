use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use crate::room::Canceller;
use crate::units::{Hertz, SampleRate};

/// At least this share of the expected echo counts as still in the residual where the owner of a note is decided: no filter fits a
/// room exactly, and an echo that is taken for the player is worse than a soft note that waits.
pub(super) const LEAST_LEFT: f32 = 0.25;
/// Number of spectra that are kept: about a second.
const KEPT: usize = 64;
/// Number of partials of a note that are measured.
const PARTIALS: usize = 8;
/// A partial that exceeds the estimated echo by this factor of power is clearly more than echo.
const BEYOND: f64 = 2.5;
/// A partial with a smaller share of the power beyond the echo does not count.
const SLIGHT: f64 = 0.03;
/// A bin whose expected echo is a smaller share than this of the loudest bin's says nothing of the estimate.
const FAINT: f32 = 0.01;
/// Mean of a squared Hann window.
const HANN: f32 = 0.375;

/// The spectrum of one residual, and of the echo that is estimated in it.
#[derive(Debug, Clone)]
struct ResidualFrame {
    /// Number of the last of the two blocks of the window; the middle of the window is that block's first sample.
    number: i64,
    /// Power of the residual in each bin.
    residual: Vec<f32>,
    /// Power of the echo that is estimated in the residual, in each bin.
    residual_echo: Vec<f32>,
    /// Power of the whole echo that is expected, in each bin.
    whole_echo: Vec<f32>,
    /// Power of the whole echo that is expected, over all bins.
    expected: f32,
}

/// Spectra of the newest residuals of a canceller, from which follows whose a note is.
#[derive(Clone)]
pub(super) struct ResidualSpectra {
    /// Fourier transform of two blocks.
    forward: Arc<dyn RealToComplex<f32>>,
    /// Samples of a block.
    block: usize,
    /// Samples a second.
    per_second: f64,
    /// The newest spectra, a ring indexed by the number of the block.
    frames: Vec<ResidualFrame>,
    /// Hann window over two blocks.
    window: Vec<f32>,
    /// The residual of the block before.
    before: Vec<f32>,
    /// Power of the estimated echo in the block before, in each bin.
    residual_echo_before: Vec<f32>,
    /// Memory for two blocks in time.
    wave: Vec<f32>,
    /// Memory for one spectrum.
    spectrum: Vec<Complex<f32>>,
    /// Memory of the Fourier transform.
    scratch: Vec<Complex<f32>>,
    /// Number of the newest block.
    newest: i64,
    /// The share of the expected echo that counts as still in the residual, however well the filter fits.
    pub floor: f32,
}

impl std::fmt::Debug for ResidualSpectra {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ResidualSpectra").field("newest", &self.newest).finish_non_exhaustive()
    }
}

/// Powers of a note's partials in the residual, and powers of the echo that is estimated there.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct PartialShare {
    /// Power of the residual in each partial.
    residual: [f64; PARTIALS],
    /// Power of the estimated echo in each partial.
    residual_echo: [f64; PARTIALS],
    /// Power of the whole echo that is expected in each partial.
    whole_echo: [f64; PARTIALS],
    /// Power of the whole echo that is expected meanwhile, at every pitch.
    expected: f64,
    /// Number of spectra that were summed.
    pub frames: usize,
}

impl PartialShare {
    /// Power of the residual over the power of the estimated echo, dB (common practice).
    pub fn over_db(&self) -> f64 {
        Self::over(&self.residual, &self.residual_echo)
    }

    /// Power of the residual over the power of the whole echo that is expected in the same partials, dB.
    pub fn over_whole_db(&self) -> f64 {
        Self::over(&self.residual, &self.whole_echo)
    }

    fn over(of: &[f64], others: &[f64]) -> f64 {
        let sum = |all: &[f64]| all.iter().sum::<f64>() + 1e-12;
        10.0 * (sum(of) / sum(others)).log10()
    }

    /// Power of the residual over the power of the whole echo that is expected, dB: how loud the note is beside all that we sound.
    pub fn beside_echo_db(&self) -> f64 {
        10.0 * ((self.residual.iter().sum::<f64>() + 1e-12) / (self.expected + 1e-12)).log10()
    }

    /// Whether there is echo, and the power beyond it lies only in every second, third, fourth or fifth partial: then a higher note
    /// of the player and a remnant of the cue were taken for one low note.
    pub fn is_of_a_higher(&self) -> bool {
        let beyond = |k: usize| (self.residual[k] - BEYOND * self.residual_echo[k]).max(0.0);
        let all: f64 = (0..PARTIALS).map(beyond).sum();
        let has_echo = self.residual_echo.iter().sum::<f64>() > 1e-3 * self.residual.iter().sum::<f64>();
        let there = |k: &usize| beyond(*k) > SLIGHT * all;
        has_echo && all > 0.0 && [2, 3, 4, 5].iter().any(|of| (0..PARTIALS).filter(there).all(|k| (k + 1) % of == 0))
    }
}

impl ResidualSpectra {
    /// No spectrum yet, for the blocks of `canceller` at `rate`.
    pub fn new(rate: SampleRate, canceller: &Canceller) -> Self {
        let (block, bins) = (canceller.block(), canceller.bins());
        let forward = RealFftPlanner::new().plan_fft_forward(2 * block);
        Self {
            block,
            per_second: rate.per_second(),
            frames: vec![
                ResidualFrame {
                    number: i64::MIN,
                    residual: vec![0.0; bins],
                    residual_echo: vec![0.0; bins],
                    whole_echo: vec![0.0; bins],
                    expected: 0.0,
                };
                KEPT
            ],
            window: canceller.window(),
            before: vec![0.0; block],
            residual_echo_before: vec![0.0; bins],
            wave: vec![0.0; 2 * block],
            spectrum: forward.make_output_vec(),
            scratch: forward.make_scratch_vec(),
            forward,
            newest: i64::MIN,
            floor: LEAST_LEFT,
        }
    }

    /// Takes in the block of this number, which the canceller has just adapted to.
    pub fn take(&mut self, number: i64, canceller: &Canceller) {
        let residual = canceller.residual();
        for (n, wave) in self.wave.iter_mut().enumerate() {
            let sample = if n < self.block { self.before[n] } else { residual[n - self.block] };
            *wave = self.window[n] * sample;
        }
        self.before.copy_from_slice(residual);
        let _ = self.forward.process_with_scratch(&mut self.wave, &mut self.spectrum, &mut self.scratch);
        let take = &mut self.frames[number.rem_euclid(KEPT as i64) as usize];
        take.number = number;
        self.newest = number;
        let bins = self.spectrum.len();
        let (spectrum, before) = (&self.spectrum[..bins], &mut self.residual_echo_before[..bins]);
        let (left, all) = (&canceller.residual_echo()[..bins], &canceller.expected()[..bins]);
        take.expected = HANN * all.iter().sum::<f32>();
        let (power, echo) = (&mut take.residual[..bins], &mut take.residual_echo[..bins]);
        let whole = &mut take.whole_echo[..bins];
        for k in 0..bins {
            whole[k] = HANN * all[k];
            power[k] = spectrum[k].norm_sqr();
            let now = HANN * (left[k] + self.floor * all[k]);
            echo[k] = 0.5 * (now + before[k]);
            before[k] = now;
        }
    }

    /// Ratio of the power of the residual to that of the estimated echo in the newest spectrum, over the bins in which the cue
    /// sounds; `None` where it sounds in none.
    pub fn newest_ratio(&self, canceller: &Canceller) -> Option<f32> {
        let newest = self.frames.get(self.newest.rem_euclid(KEPT as i64) as usize)?;
        let loudest = canceller.expected().iter().copied().fold(0.0, f32::max);
        let (mut residual, mut echo) = (0.0f32, 0.0f32);
        for (k, expected) in canceller.expected().iter().enumerate() {
            if *expected > FAINT * loudest {
                residual += newest.residual[k];
                echo += newest.residual_echo[k];
            }
        }
        (echo > 0.0).then(|| residual / echo)
    }

    /// Index of the sample after the last one that was taken in.
    pub fn known(&self) -> i64 {
        (self.newest + 1).saturating_mul(self.block as i64)
    }

    /// Powers of the partials of a tone of this pitch between two samples, in the residual and in the estimated echo.
    pub fn share(&self, pitch: Hertz, from: i64, to: i64) -> PartialShare {
        let mut share = PartialShare::default();
        let block = self.block as i64;
        let (first, last) = (from.div_euclid(block) + i64::from(from.rem_euclid(block) > 0), to.div_euclid(block));
        for number in first.max(self.newest - KEPT as i64 + 1)..=last.min(self.newest) {
            let take = &self.frames[number.rem_euclid(KEPT as i64) as usize];
            if take.number == number {
                self.add(&mut share, take, pitch);
            }
        }
        share
    }

    fn add(&self, share: &mut PartialShare, take: &ResidualFrame, pitch: Hertz) {
        share.frames += 1;
        share.expected += f64::from(take.expected);
        let spacing = self.per_second / (2 * self.block) as f64;
        let mut after = 0;
        for partial in 1..=PARTIALS {
            let middle = (pitch.0 * partial as f64 / spacing).round() as usize;
            // Where partials lie nearer to each other than three bins, no bin counts twice.
            for k in middle.saturating_sub(1).max(after)..=middle + 1 {
                let (Some(residual), Some(residual_echo), Some(whole)) =
                    (take.residual.get(k), take.residual_echo.get(k), take.whole_echo.get(k))
                else {
                    break;
                };
                share.residual[partial - 1] += f64::from(*residual);
                share.residual_echo[partial - 1] += f64::from(*residual_echo);
                share.whole_echo[partial - 1] += f64::from(*whole);
            }
            after = middle + 2;
        }
    }
}
