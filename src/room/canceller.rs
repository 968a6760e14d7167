mod adaptation;
mod drift;
mod pace;
mod settled;

use std::sync::Arc;

use crate::units::{SampleRate, Seconds};
use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

pub use drift::PathDrift;
pub use pace::{BandReading, FARTHEST, PathPace};
pub use settled::SettledPath;

/// Length of a block: short enough to follow a player at once, long enough for a spectrum of 31 Hz a bin.
const BLOCK: Seconds = Seconds(0.016);
/// Reverberation time (60 dB) that is assumed for an unknown path, seconds.
const UNKNOWN_DECAY: f32 = 0.6;
type Bin = Complex<f32>;
/// An echo canceller: takes a known sound out of a microphone. Reference and microphone samples go in; the residual comes out,
/// with an estimate of the echo that is still in it.
///
/// A partitioned-block frequency-domain Kalman filter (Enzner and Vary, Signal Processing 86, 2006; Kuech, Mabande and Enzner,
/// ICASSP 2014; blocks as Soo and Pang, IEEE Trans. ASSP 38, 1990). Whatever is in the microphone that is not ours counts as
/// noise to it: there is no other control of double talk. Causal; no block allocates, only `realign` and
/// `lose_line` do. Since what we sound is known beforehand, the echo in a block is predicted before the block is
/// heard, and nothing is delayed.
#[derive(Clone)]
pub struct Canceller {
    /// Samples a second.
    per_second: f64,
    /// Samples of a block.
    block: usize,
    /// Fourier transform of two blocks.
    forward: Arc<dyn RealToComplex<f32>>,
    /// Inverse Fourier transform of two blocks.
    inverse: Arc<dyn ComplexToReal<f32>>,
    /// Spectra of the reference, a ring; `head` is the newest.
    sent: Vec<Vec<Bin>>,
    /// Index of the newest spectrum in `sent`.
    head: usize,
    /// The spectrum of each partition of the path.
    path: Vec<Vec<Bin>>,
    /// Variance of every bin of every partition: how far the path may be wrong there.
    variance: Vec<Vec<f32>>,
    /// Variance of each partition where nothing is known of it; the levels of what was learned move it.
    prior: Vec<f32>,
    /// How new every bin of `sent` was after the two spectra before, 0 to 1.
    novel: Vec<Vec<f32>>,
    /// For each bin, the share of its variance that lies in the direction of what sounds now, 0 to 1: a steady tone teaches one sum
    /// over the partitions, and nothing of the sum of the next tone.
    share: Vec<f32>,
    /// For each bin, how new the echo in this block is over all partitions, 0 to 1.
    news: Vec<f32>,
    /// For each bin, the power of what is not the echo.
    noise: Vec<f32>,
    /// For each bin, the gain that multiplies a variance when the path is corrected.
    weight: Vec<f32>,
    /// For each bin, the share of an error of the newest block's prediction that was put right, 0 to 1.
    gains: Vec<f32>,
    /// For each bin, the power of the echo that the prediction misses.
    residual_echo: Vec<f32>,
    /// For each bin, the power of the whole echo that is expected.
    expected: Vec<f32>,
    /// For each bin, the power of the echo that is later than the last partition.
    late: Vec<f32>,
    /// Share of the power in `late` that is left a block later, 0 to 1.
    sinks: f32,
    /// For each bin, the sum of the reference's power since the path was forgotten, halved at each new line-up of the clocks (each
    /// cue): where it is large, the path is known.
    excited: Vec<f32>,
    /// The reference samples of the block before.
    before: Vec<f32>,
    /// The predicted echo of the block that is being heard.
    predicted: Vec<f32>,
    /// The newest block of the microphone without the predicted echo.
    residual: Vec<f32>,
    /// Memory for two blocks in time.
    wave: Vec<f32>,
    /// Memory for one spectrum.
    spectrum: Vec<Bin>,
    /// Memory of the Fourier transforms.
    scratch: Vec<Bin>,
    /// The partition that is constrained next.
    next_cut: usize,
    /// Number of blocks until nothing of the reference lies within the reach of the partitions any more; what comes back later is in
    /// `late`.
    sounding: usize,
}

impl std::fmt::Debug for Canceller {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Canceller")
            .field("block", &self.block)
            .field("sounding", &self.sounding)
            .finish_non_exhaustive()
    }
}

impl Canceller {
    /// A canceller that knows nothing of the path yet. `reach` is the longest delay that is followed, the room's own tail included.
    #[must_use]
    pub fn new(rate: SampleRate, reach: Seconds) -> Self {
        let block = (rate.samples(BLOCK) / 8).max(1) * 8;
        let partitions = rate.samples(reach).div_ceil(block).max(1);
        let mut planner = RealFftPlanner::new();
        let (forward, inverse) = (planner.plan_fft_forward(2 * block), planner.plan_fft_inverse(2 * block));
        let bins = block + 1;
        let zeros = vec![Bin::default(); bins];
        let scratch = vec![Bin::default(); forward.get_scratch_len().max(inverse.get_scratch_len())];
        let mut canceller = Self {
            per_second: rate.per_second(),
            block,
            forward,
            inverse,
            sent: vec![zeros.clone(); partitions],
            head: 0,
            path: vec![zeros.clone(); partitions],
            variance: vec![vec![0.0; bins]; partitions],
            prior: vec![0.0; partitions],
            novel: vec![vec![1.0; bins]; partitions],
            share: vec![1.0; bins],
            news: vec![1.0; bins],
            noise: vec![0.0; bins],
            weight: vec![0.0; bins],
            gains: vec![0.0; bins],
            residual_echo: vec![0.0; bins],
            expected: vec![0.0; bins],
            late: vec![0.0; bins],
            sinks: 10f64.powf(-6.0 * BLOCK.0 / 0.8) as f32,
            excited: vec![0.0; bins],
            before: vec![0.0; block],
            predicted: vec![0.0; block],
            residual: vec![0.0; block],
            wave: vec![0.0; 2 * block],
            spectrum: zeros,
            scratch,
            next_cut: 0,
            sounding: 0,
        };
        canceller.forget(1.0);
        canceller
    }

    /// Samples of a block.
    #[must_use]
    pub const fn block(&self) -> usize {
        self.block
    }

    /// A Hann window over two blocks.
    #[must_use]
    pub fn window(&self) -> Vec<f32> {
        let turn = std::f32::consts::TAU / (2 * self.block) as f32;
        (0..2 * self.block).map(|n| 0.5 - 0.5 * (turn * n as f32).cos()).collect()
    }

    /// Number of bins of a spectrum: those of a real transform of two blocks.
    #[must_use]
    pub const fn bins(&self) -> usize {
        self.block + 1
    }

    /// Forgets the path; all that is assumed of it is a power of the order of `gain`.
    pub fn forget(&mut self, gain: f32) {
        let seconds = 0.016;
        let sum: f32 = (0..self.prior.len()).map(|p| 10f32.powf(-6.0 * p as f32 * seconds / UNKNOWN_DECAY)).sum();
        // The direct sound may lie anywhere in the first tenth of a second.
        for (p, prior) in self.prior.iter_mut().enumerate() {
            let late = (p as f32 * seconds - 0.1).max(0.0);
            *prior = gain * 4.0 / sum * 10f32.powf(-6.0 * late / UNKNOWN_DECAY);
        }
        for ((path, variance), prior) in self.path.iter_mut().zip(&mut self.variance).zip(&self.prior) {
            path.fill(Bin::default());
            variance.fill(*prior);
        }
        self.excited.fill(0.0);
    }

    /// Keeps the path, but the instants of reference and microphone have been lined up anew, to within about `within`: what was
    /// learned of the phases is worth less the higher the bin; what was learned of the levels stays.
    pub fn realign(&mut self, within: Seconds) {
        let step = std::f64::consts::TAU * self.per_second / (2 * self.block) as f64 * within.0;
        let before = self.prior.clone();
        self.learn_levels();
        self.share.fill(1.0);
        for (p, (path, variance)) in self.path.iter_mut().zip(&mut self.variance).enumerate() {
            let (old, new) = (before[p].max(1e-12), self.prior[p]);
            for (k, (bin, variance)) in path.iter_mut().zip(variance.iter_mut()).enumerate() {
                let kept = (-0.5 * (k as f64 * step).powi(2)).exp() as f32;
                let fresh = (*variance / old).clamp(0.0, 1.0);
                let moved = *variance + (1.0 - kept * kept) * bin.norm_sqr();
                *variance = fresh * new + (1.0 - fresh) * moved + 0.05 * new;
                *bin *= kept;
            }
        }
    }

    /// The path may have changed all at once: it may be wrong by at least this share of its power.
    pub fn loosen(&mut self, share: f32) {
        for (path, variance) in self.path.iter().zip(&mut self.variance) {
            for (bin, variance) in path.iter().zip(variance.iter_mut()) {
                *variance = variance.max(share * bin.norm_sqr());
            }
        }
        self.share.fill(1.0);
    }

    /// Reference and microphone are not lined up any more: only the levels stay, and no echo of what was sounded is
    /// expected.
    pub fn lose_line(&mut self) {
        self.realign(Seconds(1.0));
        self.sent.iter_mut().for_each(|sent| sent.fill(Bin::default()));
        self.late.fill(0.0);
        self.before.fill(0.0);
        self.predicted.fill(0.0);
        self.sounding = 0;
    }

    /// Works out how strong the path may be in bins where nothing is known of it, from its levels in the known bins.
    fn learn_levels(&mut self) {
        let all: f32 = self.excited.iter().sum();
        if all <= 0.0 {
            return;
        }
        let level = |path: &Vec<Bin>| {
            path.iter().zip(&self.excited).map(|(bin, weight)| bin.norm_sqr() * weight).sum::<f32>() / all
        };
        let levels: Vec<f32> = self.path.iter().map(level).collect();
        let count = levels.len();
        for p in 0..count {
            // The delay may have moved by a block or two.
            let near = levels[p.saturating_sub(2)..(p + 3).min(count)].iter().copied().fold(0.0, f32::max);
            self.prior[p] = 0.5 * self.prior[p] + near;
        }
        self.excited.iter_mut().for_each(|weight| *weight *= 0.5);
    }

    /// Power of the path where it is known: the power of the echo as a multiple of that of the reference; 0 where nothing was sounded since
    /// the path was forgotten.
    #[must_use]
    pub fn gain(&self) -> f32 {
        let all: f32 = self.excited.iter().sum();
        let sum = |path: &Vec<Bin>| path.iter().zip(&self.excited).map(|(w, x)| w.norm_sqr() * x).sum::<f32>();
        if all > 0.0 { self.path.iter().map(sum).sum::<f32>() / all } else { 0.0 }
    }

    /// Whether something of the reference may still come back within the longest delay that is followed.
    #[must_use]
    pub const fn sounds(&self) -> bool {
        self.sounding > 0
    }

    /// Predicts the echo in the coming block; `reference` is what is sounded meanwhile.
    pub fn predict(&mut self, reference: &[f32]) {
        self.gains.fill(0.0);
        let silent = reference.iter().all(|sample| *sample == 0.0);
        self.sounding = if silent { self.sounding.saturating_sub(1) } else { self.sent.len() + 1 };
        let count = self.sent.len();
        self.head = (self.head + count - 1) % count;
        let last = self.prior[count - 1];
        for (late, leaving) in self.late.iter_mut().zip(&self.sent[self.head]) {
            *late = self.sinks * *late + last * leaving.norm_sqr();
            // Numbers too small to be normal would cost a hundred times as much, for ever.
            if *late < f32::MIN_POSITIVE {
                *late = 0.0;
            }
        }
        if self.sounding == 0 {
            self.sent[self.head].fill(Bin::default());
            self.predicted.fill(0.0);
            self.before.copy_from_slice(reference);
            return;
        }
        self.wave[..self.block].copy_from_slice(&self.before);
        self.wave[self.block..].copy_from_slice(reference);
        self.before.copy_from_slice(reference);
        let sent = &mut self.sent[self.head];
        let _ = self.forward.process_with_scratch(&mut self.wave, sent, &mut self.scratch);
        for (weight, bin) in self.excited.iter_mut().zip(sent.iter()) {
            *weight += bin.norm_sqr();
        }
        self.note_news();
        self.spectrum.fill(Bin::default());
        for p in 0..count {
            let sent = &self.sent[(self.head + p) % count];
            for ((sum, x), w) in self.spectrum.iter_mut().zip(sent).zip(&self.path[p]) {
                *sum += x * w;
            }
        }
        self.transform_back();
        self.predicted.copy_from_slice(&self.wave[self.block..]);
    }

    /// Writes down, for each bin, how far the newest block differs from a tone that goes on evenly from the two blocks before.
    fn note_news(&mut self) {
        let count = self.sent.len();
        let [now, last, first] = [0, 1, 2].map(|p| &self.sent[(self.head + p) % count]);
        let novel = &mut self.novel[self.head];
        let (mut off, mut all) = ([0.0f32; 3], [0.0f32; 3]);
        let bins = now.len();
        for k in 0..=bins {
            if k < bins {
                let turn = last[k] * first[k].conj();
                let due = last[k] * turn / turn.norm().max(1e-20);
                off[k % 3] = (now[k] - due).norm_sqr();
                all[k % 3] = now[k].norm_sqr() + last[k].norm_sqr();
            } else {
                (off[k % 3], all[k % 3]) = (0.0, 0.0);
            }
            // A tone lies in two or three bins.
            if k > 0 {
                novel[k - 1] = (off.iter().sum::<f32>() / all.iter().sum::<f32>().max(1e-20)).min(1.0);
            }
        }
    }

    /// The predicted echo in the block of the last [`Canceller::predict`].
    #[must_use]
    pub fn predicted(&self) -> &[f32] {
        &self.predicted
    }

    fn transform_back(&mut self) {
        for end in [0, self.spectrum.len() - 1] {
            self.spectrum[end].im = 0.0;
        }
        let _ = self.inverse.process_with_scratch(&mut self.spectrum, &mut self.wave, &mut self.scratch);
        let scale = 1.0 / (2 * self.block) as f32;
        self.wave.iter_mut().for_each(|sample| *sample *= scale);
    }

    /// The microphone of the newest block without the predicted echo.
    #[must_use]
    pub fn residual(&self) -> &[f32] {
        &self.residual
    }

    /// Estimated power of the echo that is still in the residual of the newest block, for each bin, on the scale of a transform of
    /// two blocks.
    #[must_use]
    pub fn residual_echo(&self) -> &[f32] {
        &self.residual_echo
    }

    /// How new the echo in the newest block is, 0 to 1: near 0 while a tone goes on evenly.
    #[must_use]
    pub fn change(&self) -> f32 {
        let new: f32 = self.news.iter().zip(&self.expected).map(|(news, expected)| news * expected).sum();
        new / self.expected.iter().sum::<f32>().max(1e-20)
    }

    /// Expected power of the whole echo in the newest block, for each bin, on the scale of a transform of two blocks.
    #[must_use]
    pub fn expected(&self) -> &[f32] {
        &self.expected
    }
}

#[cfg(test)]
#[path = "canceller_tests.rs"]
mod tests;
