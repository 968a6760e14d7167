use std::sync::Arc;

use crate::units::{SampleRate, Seconds};
use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

/// Length of a block.
const BLOCK: Seconds = Seconds(0.016);
/// How fast the path may change, a block.
const STEADY: f32 = 0.998;
/// Memory of what is not ours, a block.
const REST: f32 = 0.95;
/// Partitions that are cut to their length in a block.
const CUT: usize = 6;
/// Time in which a path of which nothing is known dies by 60 dB.
const UNKNOWN_DECAY: f32 = 0.6;
/// What a path may have gained unnoticed since, as a share of what was expected of it at first.
const UNSEEN: f32 = 0.01;
/// The least share of the variance that lies in the direction of a steady tone.
const LEAST_SHARE: f32 = 0.01;
type Bin = Complex<f32>;
/// Takes a known sound out of a microphone: reference samples in, microphone samples in; what is left out, and how much of it
/// may still be ours.
///
/// A partitioned-block frequency-domain Kalman filter (Enzner and Vary, Signal Processing 86, 2006; Kuech, Mabande and Enzner,
/// ICASSP 2014; blocks as Soo and Pang, IEEE Trans. ASSP 38, 1990). Whatever is in the microphone that is not ours counts as
/// noise to it: there is no other control of double talk. Causal, and nothing is allocated after the start. Since what we sound
/// is known beforehand, a block is foretold before it is heard, and nothing is delayed.
#[derive(Clone)]
pub struct Canceller {
    per_second: f64,
    block: usize,
    forward: Arc<dyn RealToComplex<f32>>,
    inverse: Arc<dyn ComplexToReal<f32>>,
    /// Spectra of the reference, a ring; `head` is the newest.
    sent: Vec<Vec<Bin>>,
    head: usize,
    path: Vec<Vec<Bin>>,
    /// Variance of every bin of the path.
    unsure: Vec<Vec<f32>>,
    /// Variance at first, a partition.
    prior: Vec<f32>,
    /// How new every bin of `sent` was after the two before, 0 to 1.
    novel: Vec<Vec<f32>>,
    /// How much of that variance lies in the direction of what sounds now: a steady tone teaches one sum of the partitions, and
    /// nothing of the next tone's.
    share: Vec<f32>,
    /// How new what comes back now is, all in all.
    news: Vec<f32>,
    /// Power of what is not ours.
    rest: Vec<f32>,
    weight: Vec<f32>,
    missed: Vec<f32>,
    expected: Vec<f32>,
    /// Power of the echo that is later than the last partition, and what is left of it a block later.
    late: Vec<f32>,
    sinks: f32,
    /// Power of the reference over the last second or so, where the path can be known.
    excited: Vec<f32>,
    before: Vec<f32>,
    foretold: Vec<f32>,
    left: Vec<f32>,
    wave: Vec<f32>,
    spectrum: Vec<Bin>,
    scratch: Vec<Bin>,
    next_cut: usize,
    /// Blocks until nothing of the reference can come back any more.
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
    /// Knows nothing of the way yet. `reach` is the longest delay that is followed, the room's own tail included.
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
            unsure: vec![vec![0.0; bins]; partitions],
            prior: vec![0.0; partitions],
            novel: vec![vec![1.0; bins]; partitions],
            share: vec![1.0; bins],
            news: vec![1.0; bins],
            rest: vec![0.0; bins],
            weight: vec![0.0; bins],
            missed: vec![0.0; bins],
            expected: vec![0.0; bins],
            late: vec![0.0; bins],
            sinks: 10f64.powf(-6.0 * BLOCK.0 / 0.8) as f32,
            excited: vec![0.0; bins],
            before: vec![0.0; block],
            foretold: vec![0.0; block],
            left: vec![0.0; block],
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

    /// Bins of a spectrum: those of a real transform of two blocks.
    #[must_use]
    pub const fn bins(&self) -> usize {
        self.block + 1
    }

    /// Nothing is known of the path any more, but that its power is about `gain`.
    pub fn forget(&mut self, gain: f32) {
        let seconds = 0.016;
        let sum: f32 = (0..self.prior.len()).map(|p| 10f32.powf(-6.0 * p as f32 * seconds / UNKNOWN_DECAY)).sum();
        // The first tenth of a second may hold the direct sound, wherever it is.
        for (p, prior) in self.prior.iter_mut().enumerate() {
            let late = (p as f32 * seconds - 0.1).max(0.0);
            *prior = gain * 4.0 / sum * 10f32.powf(-6.0 * late / UNKNOWN_DECAY);
        }
        for ((path, unsure), prior) in self.path.iter_mut().zip(&mut self.unsure).zip(&self.prior) {
            path.fill(Bin::default());
            unsure.fill(*prior);
        }
        self.excited.fill(0.0);
    }

    /// The same way, but the instants of reference and microphone have been lined up anew, to within about `within`: what was
    /// learned of the angles is worth less the higher the bin, what was learned of the levels stays.
    pub fn realign(&mut self, within: Seconds) {
        let step = std::f64::consts::TAU * self.per_second / (2 * self.block) as f64 * within.0;
        let before = self.prior.clone();
        self.learn_levels();
        self.share.fill(1.0);
        for (p, (path, unsure)) in self.path.iter_mut().zip(&mut self.unsure).enumerate() {
            let (old, new) = (before[p].max(1e-12), self.prior[p]);
            for (k, (bin, variance)) in path.iter_mut().zip(unsure.iter_mut()).enumerate() {
                let kept = (-0.5 * (k as f64 * step).powi(2)).exp() as f32;
                let fresh = (*variance / old).clamp(0.0, 1.0);
                let moved = *variance + (1.0 - kept * kept) * bin.norm_sqr();
                *variance = fresh * new + (1.0 - fresh) * moved + 0.05 * new;
                *bin *= kept;
            }
        }
    }

    /// Reference and microphone are not lined up any more: only the levels stay, and nothing of what was sounded comes back.
    pub fn lose_line(&mut self) {
        self.realign(Seconds(1.0));
        self.sent.iter_mut().for_each(|sent| sent.fill(Bin::default()));
        self.late.fill(0.0);
        self.before.fill(0.0);
        self.foretold.fill(0.0);
        self.sounding = 0;
    }

    /// What a path of which nothing is known in a bin may be, from the levels in the bins that are known.
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

    /// Power of the path where it is known: the echo's against the reference's.
    #[must_use]
    pub fn gain(&self) -> f32 {
        let all: f32 = self.excited.iter().sum();
        let sum = |path: &Vec<Bin>| path.iter().zip(&self.excited).map(|(w, x)| w.norm_sqr() * x).sum::<f32>();
        if all > 0.0 { self.path.iter().map(sum).sum::<f32>() / all } else { 0.0 }
    }

    /// Something of the reference may still come back.
    #[must_use]
    pub const fn sounds(&self) -> bool {
        self.sounding > 0
    }

    /// Foretells the echo in the coming block, of which `reference` is what is sounded meanwhile.
    pub fn foretell(&mut self, reference: &[f32]) {
        let silent = reference.iter().all(|sample| *sample == 0.0);
        self.sounding = if silent { self.sounding.saturating_sub(1) } else { self.sent.len() + 1 };
        let count = self.sent.len();
        self.head = (self.head + count - 1) % count;
        let last = self.prior[count - 1];
        for (late, leaving) in self.late.iter_mut().zip(&self.sent[self.head]) {
            *late = self.sinks * *late + last * leaving.norm_sqr();
        }
        if self.sounding == 0 {
            self.sent[self.head].fill(Bin::default());
            self.foretold.fill(0.0);
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
        self.foretold.copy_from_slice(&self.wave[self.block..]);
    }

    /// How far the newest block is from what goes on evenly from the two before.
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

    /// The echo in the block that was foretold last.
    #[must_use]
    pub fn foretold(&self) -> &[f32] {
        &self.foretold
    }

    /// Hears the block that was foretold.
    pub fn learn(&mut self, microphone: &[f32]) {
        for ((left, came), told) in self.left.iter_mut().zip(microphone).zip(&self.foretold) {
            *left = came - told;
        }
        self.wave[..self.block].fill(0.0);
        self.wave[self.block..].copy_from_slice(&self.left);
        let _ = self.forward.process_with_scratch(&mut self.wave, &mut self.spectrum, &mut self.scratch);
        for (rest, bin) in self.rest.iter_mut().zip(&self.spectrum) {
            *rest = REST * *rest + (1.0 - REST) * bin.norm_sqr();
        }
        self.missed.copy_from_slice(&self.late);
        self.expected.copy_from_slice(&self.late);
        if self.sounding == 0 {
            return;
        }
        self.doubt_now();
        self.follow();
        self.cut();
    }

    fn doubt_now(&mut self) {
        let count = self.sent.len();
        self.missed.fill(0.0);
        self.expected.fill(1e-20);
        self.news.fill(0.0);
        for p in 0..count {
            let slot = (self.head + p) % count;
            let (sent, novel) = (&self.sent[slot], &self.novel[slot]);
            let (unsure, path, prior) = (&self.unsure[p], &self.path[p], self.prior[p]);
            for k in 0..sent.len() {
                let power = sent[k].norm_sqr();
                let comes = power * (prior.min(unsure[k]) + path[k].norm_sqr());
                self.missed[k] += power * unsure[k];
                self.expected[k] += comes;
                self.news[k] += comes * novel[k];
            }
        }
        for k in 0..self.missed.len() {
            self.news[k] = (self.news[k] / self.expected[k]).clamp(0.0, 1.0);
            self.share[k] = (self.share[k] + self.news[k]).min(1.0);
            self.missed[k] *= self.share[k];
        }
    }

    fn follow(&mut self) {
        let count = self.sent.len();
        let moved = 1.0 - STEADY * STEADY;
        for (k, error) in self.spectrum.iter().enumerate() {
            let rest = 2.0 * self.rest[k].max((1.0 - REST) * error.norm_sqr()) + 1e-6;
            // From here on the gain of a variance.
            self.weight[k] = self.share[k] / (self.missed[k] + rest);
            self.share[k] *= 1.0 - 0.5 * self.missed[k] / (self.missed[k] + rest);
            self.share[k] = self.share[k].max(LEAST_SHARE);
        }
        for p in 0..count {
            let sent = &self.sent[(self.head + p) % count];
            let (path, unsure) = (&mut self.path[p], &mut self.unsure[p]);
            let floor = UNSEEN * self.prior[p];
            for k in 0..sent.len() {
                let x = sent[k];
                let gain = unsure[k] * self.weight[k];
                path[k] += x.conj() * self.spectrum[k] * gain;
                let left = unsure[k] * (1.0 - 0.5 * self.news[k] * (gain * x.norm_sqr()).min(1.0));
                unsure[k] = STEADY * STEADY * left + moved * (path[k].norm_sqr() + floor);
            }
        }
        let late = self.late.iter();
        self.missed.iter_mut().zip(&mut self.expected).zip(late).for_each(|((missed, expected), late)| {
            *missed += late;
            *expected += late;
        });
    }

    /// Cuts some partitions to the length of a block, in turn.
    fn cut(&mut self) {
        for _ in 0..CUT {
            let p = self.next_cut;
            self.next_cut = (p + 1) % self.path.len();
            self.spectrum.copy_from_slice(&self.path[p]);
            self.transform_back();
            self.wave[self.block..].fill(0.0);
            let _ = self.forward.process_with_scratch(&mut self.wave, &mut self.path[p], &mut self.scratch);
        }
    }

    fn transform_back(&mut self) {
        for end in [0, self.spectrum.len() - 1] {
            self.spectrum[end].im = 0.0;
        }
        let _ = self.inverse.process_with_scratch(&mut self.spectrum, &mut self.wave, &mut self.scratch);
        let scale = 1.0 / (2 * self.block) as f32;
        self.wave.iter_mut().for_each(|sample| *sample *= scale);
    }

    /// What is left of the newest block.
    #[must_use]
    pub fn left(&self) -> &[f32] {
        &self.left
    }

    /// Power, a bin, that the filter expects to have missed in the newest block, on the scale of a transform of two blocks.
    #[must_use]
    pub fn doubt(&self) -> &[f32] {
        &self.missed
    }

    /// Power, a bin, of the echo that was expected in it, on the same scale.
    #[must_use]
    pub fn expected(&self) -> &[f32] {
        &self.expected
    }
}

#[cfg(test)]
#[path = "canceller_tests.rs"]
mod tests;
