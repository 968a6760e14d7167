/// Forgetting factor of the means, for each block: about a tenth of a second.
const MEMORY: f64 = 0.85;
/// Where less than this share of the power that is predicted is found again in the microphone, the prediction does not fit. Whatever the
/// player adds, the prediction is found whole in the mean.
const FITS: f64 = 0.5;
/// A prediction whose power is a smaller share than this of the microphone's shows nothing.
const FAINT: f64 = 0.25;

/// Whether a prediction of the echo is found again in the microphone.
#[derive(Debug, Clone)]
pub(super) struct PathFit {
    /// Means over the newest blocks: power of the prediction, of what it has in common with the microphone, and of the microphone.
    means: [f64; 3],
    /// For how many blocks running it has not fitted.
    fails_for: u32,
    /// Number of the last block in which it did not fit.
    failed: i64,
}

impl PathFit {
    /// Nothing heard yet.
    pub const fn new() -> Self {
        Self { means: [0.0; 3], fails_for: 0, failed: i64::MIN }
    }

    /// Takes in the block of this number.
    pub fn hear(&mut self, number: i64, predicted: &[f32], microphone: &[f32]) {
        let both = |one: &[f32], other: &[f32]| one.iter().zip(other).map(|(a, b)| f64::from(a * b)).sum::<f64>();
        let now = [both(predicted, predicted), both(predicted, microphone), both(microphone, microphone)];
        for (mean, now) in self.means.iter_mut().zip(now) {
            *mean = MEMORY * *mean + (1.0 - MEMORY) * now;
        }
        let [sent, found, came] = self.means;
        if sent > FAINT * came && found < FITS * sent {
            self.fails_for += 1;
            self.failed = number;
        } else {
            self.fails_for = 0;
        }
    }

    /// For how many blocks running the prediction has not fitted.
    pub const fn fails_for(&self) -> u32 {
        self.fails_for
    }

    /// Whether the prediction did not fit in this block, or in one after it.
    pub const fn failed_since(&self, number: i64) -> bool {
        self.failed >= number
    }

    /// Forgets what was heard before the prediction was mended.
    pub const fn begin_anew(&mut self) {
        (self.means, self.fails_for) = ([0.0; 3], 0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sum of tones, which starts at this sample.
    fn tones(from: usize) -> Vec<f32> {
        let tone = |n: usize, of: f32| (n as f32 * of).sin();
        (from..from + 700).map(|n| [0.021, 0.034, 0.055, 0.089].map(|of| tone(n, of)).iter().sum()).collect()
    }

    #[test]
    fn a_player_as_loud_as_the_band_leaves_its_prediction_and_a_jump_does_not() {
        let fails = |microphone: &dyn Fn(usize) -> Vec<f32>| {
            let mut fit = PathFit::new();
            (0..20).for_each(|n| fit.hear(n, &tones(700 * n as usize), &microphone(700 * n as usize)));
            fit.failed_since(0)
        };
        let player = |from: usize| {
            tones(from)
                .into_iter()
                .enumerate()
                .map(move |(n, band)| band + 1.4 * ((from + n) as f32 * 0.047).sin())
                .collect()
        };
        assert!(!fails(&player));
        // Five milliseconds at 44.1 kHz.
        assert!(fails(&|from| tones(from + 220)));
    }
}
