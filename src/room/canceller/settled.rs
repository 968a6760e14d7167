use super::{Bin, Canceller};

/// Number of blocks between two looks at the path: one second.
const EVERY: u32 = 62;
/// After it was put back a path may be wrong by this share of its power.
const PUT_BACK: f32 = 0.03;

/// A path as it was at some instant.
#[derive(Debug, Clone)]
struct KeptPath {
    /// The spectrum of each partition.
    path: Vec<Vec<Bin>>,
    /// Variance of every bin of every partition.
    variance: Vec<Vec<f32>>,
}

impl KeptPath {
    fn take(&mut self, canceller: &Canceller) {
        let pairs = self.path.iter_mut().zip(&canceller.path);
        pairs.for_each(|(kept, path)| kept.copy_from_slice(path));
        let pairs = self.variance.iter_mut().zip(&canceller.variance);
        pairs.for_each(|(kept, variance)| kept.copy_from_slice(variance));
    }
}

/// A canceller's path of one or two seconds ago, and what it predicts now.
///
/// The canceller follows the tone that sounds within a fifth of a second, also after a jump of the delay: its own prediction then fits this
/// tone and nothing that is played next. An older path shows the jump, and is right again once the jump is known.
#[derive(Debug, Clone)]
pub struct SettledPath {
    /// The path one to two seconds ago.
    older: KeptPath,
    /// The path at most a second ago.
    newer: KeptPath,
    /// Number of blocks until the next look.
    left: u32,
    /// How many looks were taken, two at most.
    looks: u32,
    /// The echo that the older path predicts in the newest block.
    predicted: Vec<f32>,
    /// Memory for one spectrum.
    spectrum: Vec<Bin>,
    /// Memory for two blocks in time.
    wave: Vec<f32>,
    /// Memory of the Fourier transforms.
    scratch: Vec<Bin>,
}

impl SettledPath {
    /// For the paths of this canceller; nothing is seen yet.
    #[must_use]
    pub fn new(canceller: &Canceller) -> Self {
        let kept = KeptPath { path: canceller.path.clone(), variance: canceller.variance.clone() };
        Self {
            older: kept.clone(),
            newer: kept,
            left: EVERY,
            looks: 0,
            predicted: vec![0.0; canceller.block],
            spectrum: canceller.spectrum.clone(),
            wave: canceller.wave.clone(),
            scratch: canceller.scratch.clone(),
        }
    }

    /// Predicts the echo in the newest block, which the canceller has heard; `holds` says that the path is not to be looked at now. Returns
    /// whether it was looked at.
    pub fn hear(&mut self, canceller: &Canceller, holds: bool) -> bool {
        self.left = self.left.saturating_sub(1);
        let looks = self.left == 0 && !holds;
        if looks {
            std::mem::swap(&mut self.older, &mut self.newer);
            self.newer.take(canceller);
            self.looks = (self.looks + 1).min(2);
            self.left = EVERY;
        }
        let count = canceller.sent.len();
        let bins = self.spectrum.len();
        let sum = &mut self.spectrum[..bins];
        sum.fill(Bin::default());
        for p in 0..count {
            let (sent, path) = (&canceller.sent[(canceller.head + p) % count][..bins], &self.older.path[p][..bins]);
            for k in 0..bins {
                sum[k] += sent[k] * path[k];
            }
        }
        (sum[0].im, sum[bins - 1].im) = (0.0, 0.0);
        let _ = canceller.inverse.process_with_scratch(&mut self.spectrum, &mut self.wave, &mut self.scratch);
        let scale = 1.0 / (2 * canceller.block) as f32;
        for (predicted, sample) in self.predicted.iter_mut().zip(&self.wave[canceller.block..]) {
            *predicted = scale * sample;
        }
        looks
    }

    /// The echo that the older path predicts in the newest block; `None` where no path is old enough.
    #[must_use]
    pub fn predicted(&self) -> Option<&[f32]> {
        (self.looks == 2).then_some(&self.predicted[..])
    }

    /// Gives the canceller the older path again, since reference and microphone were lined up so that it fits.
    pub fn put_back(&mut self, canceller: &mut Canceller) {
        for (path, kept) in canceller.path.iter_mut().zip(&self.older.path) {
            path.copy_from_slice(kept);
        }
        for (variance, kept) in canceller.variance.iter_mut().zip(&self.older.variance) {
            variance.copy_from_slice(kept);
        }
        canceller.loosen(PUT_BACK);
        self.newer.take(canceller);
        self.left = EVERY;
    }

    /// Forgets the older path, for it does not fit any more.
    pub const fn forget(&mut self) {
        (self.looks, self.left) = (0, EVERY);
    }
}

impl Canceller {
    /// Takes in once more what was sounded in two blocks running, `ago` blocks before the newest: it has been lined up anew.
    pub fn hear_sent_again(&mut self, ago: usize, two_blocks: &mut [f32]) {
        if ago == 0 {
            self.before.copy_from_slice(&two_blocks[self.block..]);
        }
        let count = self.sent.len();
        let sent = &mut self.sent[(self.head + ago) % count];
        let _ = self.forward.process_with_scratch(two_blocks, sent, &mut self.scratch);
    }

    /// Number of blocks that the path reaches back.
    #[must_use]
    pub const fn partitions(&self) -> usize {
        self.path.len()
    }
}
