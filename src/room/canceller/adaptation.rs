use super::Canceller;

/// Forgetting factor of the noise power, for each block.
const NOISE_MEMORY: f32 = 0.95;
/// Number of partitions that are constrained to their length with each block; all of them would cost too much.
const CUT: usize = 6;
/// Power that a path may have gained unnoticed, as a share of its variance before anything was known.
const UNSEEN: f32 = 0.01;
/// The least share of the variance that lies in the direction of a steady tone.
const LEAST_SHARE: f32 = 0.01;
/// Forgetting factor of the path, for each block: a player moves slowly.
const STEADY: f32 = 0.998;

impl Canceller {
    /// Adapts the filter to the block whose echo was predicted.
    pub fn adapt(&mut self, microphone: &[f32]) {
        for ((residual, came), echo) in self.residual.iter_mut().zip(microphone).zip(&self.predicted) {
            *residual = came - echo;
        }
        self.wave[..self.block].fill(0.0);
        self.wave[self.block..].copy_from_slice(&self.residual);
        let _ = self.forward.process_with_scratch(&mut self.wave, &mut self.spectrum, &mut self.scratch);
        for (noise, bin) in self.noise.iter_mut().zip(&self.spectrum) {
            *noise = NOISE_MEMORY * *noise + (1.0 - NOISE_MEMORY) * bin.norm_sqr();
        }
        self.residual_echo.copy_from_slice(&self.late);
        self.expected.copy_from_slice(&self.late);
        if self.sounding == 0 {
            return;
        }
        self.estimate_residual_echo();
        self.correct_path();
        self.cut();
    }

    /// Estimates what the prediction may miss in this block from the variance of the path.
    fn estimate_residual_echo(&mut self) {
        let count = self.sent.len();
        self.residual_echo.fill(0.0);
        self.expected.fill(1e-20);
        self.news.fill(0.0);
        // Slices of one length, so that no index is checked within the loop.
        let bins = self.residual_echo.len();
        let (residual_echo, expected) = (&mut self.residual_echo[..bins], &mut self.expected[..bins]);
        let news = &mut self.news[..bins];
        for p in 0..count {
            let slot = (self.head + p) % count;
            let (sent, novel) = (&self.sent[slot][..bins], &self.novel[slot][..bins]);
            let (variance, path, prior) = (&self.variance[p][..bins], &self.path[p][..bins], self.prior[p]);
            for k in 0..bins {
                let power = sent[k].norm_sqr();
                let comes = power * (prior.min(variance[k]) + path[k].norm_sqr());
                residual_echo[k] += power * variance[k];
                expected[k] += comes;
                news[k] += comes * novel[k];
            }
        }
        for k in 0..self.residual_echo.len() {
            self.news[k] = (self.news[k] / self.expected[k]).clamp(0.0, 1.0);
            self.share[k] = (self.share[k] + self.news[k]).min(1.0);
            self.residual_echo[k] *= self.share[k];
        }
    }

    /// Corrects the path, and its variance, by what the prediction missed (the update of the Kalman filter).
    fn correct_path(&mut self) {
        let count = self.sent.len();
        let moved = 1.0 - STEADY * STEADY;
        for (k, error) in self.spectrum.iter().enumerate() {
            let noise = 2.0 * self.noise[k].max((1.0 - NOISE_MEMORY) * error.norm_sqr()) + 1e-6;
            // From here on `weight` is the gain that multiplies a variance.
            self.weight[k] = self.share[k] / (self.residual_echo[k] + noise);
            self.gains[k] = self.residual_echo[k] / (self.residual_echo[k] + noise);
            self.share[k] *= 1.0 - 0.5 * self.gains[k];
            self.share[k] = self.share[k].max(LEAST_SHARE);
        }
        let bins = self.spectrum.len();
        let (errors, weight, news) = (&self.spectrum[..bins], &self.weight[..bins], &self.news[..bins]);
        for p in 0..count {
            let sent = &self.sent[(self.head + p) % count][..bins];
            let (path, variance) = (&mut self.path[p][..bins], &mut self.variance[p][..bins]);
            let floor = UNSEEN * self.prior[p];
            for k in 0..bins {
                let x = sent[k];
                let gain = variance[k] * weight[k];
                path[k] += x.conj() * errors[k] * gain;
                let residual = variance[k] * (1.0 - 0.5 * news[k] * (gain * x.norm_sqr()).min(1.0));
                variance[k] = STEADY * STEADY * residual + moved * (path[k].norm_sqr() + floor);
            }
        }
        let late = self.late.iter();
        self.residual_echo.iter_mut().zip(&mut self.expected).zip(late).for_each(
            |((residual_echo, expected), late)| {
                *residual_echo += late;
                *expected += late;
            },
        );
    }

    /// Constrains some partitions to the length of a block, in turn.
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
}
