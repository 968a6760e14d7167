use super::super::analysis_frame::AnalysisFrame;
use super::super::rules::Rules;

/// Consecutive frames whose pitch moves by small steps only.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct PitchRun {
    /// Number of frames in the run.
    pub(super) length: usize,
    /// Sum of the clarity of its frames.
    clarity_sum: f64,
}

impl PitchRun {
    /// Takes the newest frame; `before` is the one before it.
    pub(super) fn add(&mut self, frame: &AnalysisFrame, before: Option<&AnalysisFrame>, rules: &Rules) {
        if !frame.voiced {
            *self = Self::default();
            return;
        }
        let step = before.map_or(f64::INFINITY, |b| (frame.semitone() - b.semitone()).abs() * 100.0);
        if self.length == 0 || step > rules.run_step {
            *self = Self::default();
        }
        self.length += 1;
        self.clarity_sum += frame.best.clarity;
    }

    /// Mean clarity of the frames, 0 to 1.
    pub(super) fn clarity(&self) -> f64 {
        self.clarity_sum / self.length.max(1) as f64
    }
}
