use crate::room::levels::levels;

/// Number of blocks that must sound before a cue is believed to come back while it still sounds.
const CONVINCING: u32 = 12;

/// What one cue shows of whether our sound comes back.
#[derive(Debug, Clone, Default)]
pub(super) struct EchoEvidence {
    /// Level of the quiet before the cue, dB.
    noise_db: f64,
    /// Sum of the mean squares of the cue.
    sent: f64,
    /// Sum of the mean squares of the microphone.
    came: f64,
    /// Sum of the mean squares of the residual.
    residual: f64,
    /// Number of blocks in which the cue sounded.
    sounding: u32,
    /// Number of these blocks in which the microphone rose above the quiet by more than 6 dB.
    covered: u32,
    /// Mean square of the loudest block of the cue.
    loud: f64,
}

/// The mean square of samples.
pub(super) fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / samples.len().max(1) as f64
}

impl EchoEvidence {
    /// The evidence of a cue that begins after this sound.
    pub fn begin(before: impl Iterator<Item = f32>, block: usize) -> Self {
        let mut quiet = levels(before, block);
        quiet.sort_by(f64::total_cmp);
        Self { noise_db: quiet.get(quiet.len() / 4).copied().unwrap_or(-200.0), ..Self::default() }
    }

    /// Adds a block in which the cue sounds or may come back.
    pub fn add(&mut self, sent: &[f32], came: &[f32], residual: &[f32]) {
        let (sent, came, residual) = (power(sent), power(came), power(residual));
        self.sent += sent;
        self.came += came;
        self.residual += residual;
        self.loud = self.loud.max(sent);
        if sent > 0.01 * self.loud && sent > 0.0 {
            self.sounding += 1;
            self.covered += u32::from(10.0 * came.max(1e-20).log10() > self.noise_db + 6.0);
        }
    }

    /// Share of the microphone's power that the prediction took out.
    fn predicted(&self) -> f64 {
        1.0 - self.residual / self.came.max(1e-20)
    }

    /// Whether the cue is known to come back while it still sounds.
    pub fn convinces(&self) -> bool {
        self.sounding >= CONVINCING && self.predicted() > 0.5
    }

    /// Whether the cue came back; `None` where this cue does not show it. `gain` is the power of the learned path.
    pub fn comes_back(&self, gain: f32) -> Option<bool> {
        if self.sounding < 2 {
            return None;
        }
        let covered = f64::from(self.covered) / f64::from(self.sounding);
        if covered < 0.5 {
            return Some(false);
        }
        if self.predicted() > 0.35 && covered > 0.6 {
            return Some(true);
        }
        // Much less came than the learned path would give; or far more came, and the prediction took next to nothing out of it.
        let due = f64::from(gain) * self.sent;
        (self.came < 0.25 * due || (self.predicted() < 0.1 && due < 0.05 * self.came)).then_some(false)
    }
}
