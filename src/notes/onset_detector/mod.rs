//! A learned onset detector beside the rules: whether a note truly began where the rules would tell one.
//!
//! `inputs` makes numbers of every frame, and `net` makes three curves of them: "a note began so many frames ago". The weights were
//! learnt from made sound alone (`benches/ear`), so the detector knows the noises between notes, but no instrument and no key.

mod inputs;
mod net;

use super::analysis_frame::AnalysisFrame;
use super::rules::Rules;
use super::tracker::Tracker;
pub use inputs::INPUTS;
use inputs::Inputs;
pub(super) use net::squashed;
use net::{CURVES, Net};

/// How many frames ago a note began, for each curve.
const AGO: [f64; CURVES] = [8.0, 14.0, 24.0];
/// Number of frames before and after its time in which a curve counts.
const NEAR: f64 = 9.5;
/// Frames whose curves are kept.
const KEPT: usize = 64;

/// A likelihood as a logit, where those within a ten-thousandth of 0 and 1 count as that far off.
pub(super) fn log_odds(likelihood: f64) -> f64 {
    let likelihood = likelihood.clamp(1e-4, 1.0 - 1e-4);
    (likelihood / (1.0 - likelihood)).ln()
}

/// Says how likely a note began at a recent moment.
#[derive(Debug, Clone)]
pub(super) struct OnsetDetector {
    inputs: Inputs,
    net: Net,
    said: [[f32; CURVES]; KEPT],
    frames: usize,
    hop: i64,
    end: i64,
}

impl OnsetDetector {
    /// A detector for a stream whose frames have `hop` samples each.
    pub(super) fn new(hop: usize) -> Self {
        let said = [[f32::NEG_INFINITY; CURVES]; KEPT];
        Self { inputs: Inputs::new(), net: Net::new(), said, frames: 0, hop: hop as i64, end: 0 }
    }

    /// Takes the newest frame.
    pub(super) fn hear(&mut self, frame: &AnalysisFrame, tracker: &Tracker, rules: &Rules) {
        self.inputs.take(frame, self.hop, tracker, rules);
        self.said[self.frames % KEPT] = self.net.step(self.inputs.values());
        self.frames += 1;
        self.end = frame.end;
    }

    /// What the net was given of the newest frame.
    pub(super) const fn inputs(&self) -> &[f32; INPUTS] {
        self.inputs.values()
    }

    /// How likely a note began at a position, by all that was heard since: 0 to 1.
    pub(super) fn likelihood(&self, onset: i64) -> f64 {
        let mut most = f32::NEG_INFINITY;
        for frames_ago in 0..KEPT.min(self.frames) {
            let age = (self.end - onset) as f64 / self.hop as f64 - frames_ago as f64;
            let said = &self.said[(self.frames - 1 - frames_ago) % KEPT];
            for (curve, ago) in said.iter().zip(AGO) {
                if (age - ago).abs() <= NEAR {
                    most = most.max(*curve);
                }
            }
        }
        f64::from(squashed(most))
    }
}
