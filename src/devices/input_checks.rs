//! What the microphone's samples alone show: digital silence, a gate, and clipping.

use crate::room::SoundFault;
use crate::units::{SampleRate, Seconds};

/// After this time of exact zeros from the start, no microphone is behind the device, or the program may not use it.
const DEAD: Seconds = Seconds(2.0);
/// This time of exact zeros after sound shows a noise gate or a mute switch.
const GATED: Seconds = Seconds(0.3);
/// Clipping is reported for this time after the last clipped sample, so that it can be read.
const CLIPPED: Seconds = Seconds(2.0);
/// A sample from this size on is at full scale: the 16-bit format reaches no more.
const FULL: f32 = 0.9995;
/// This many samples in a row at full scale are clipping; one or two may be a true peak.
const RUN: usize = 3;
/// From this amplitude on (-50 dB) a sample counts as sound.
const SOUND: f32 = 0.003;

/// Listens to one stream of samples for what no real microphone sends.
#[derive(Debug, Clone)]
pub struct InputChecks {
    /// Samples a second.
    rate: SampleRate,
    /// Number of samples so far.
    heard: u64,
    /// Number of exact zeros in a row, up to now.
    zeros: u64,
    /// Whether a sample that is not exactly zero has come.
    alive: bool,
    /// Whether a sample of -50 dB or more has come.
    sounded: bool,
    /// Number of samples at full scale in a row, up to now.
    full: usize,
    /// Number of the sample at which the stream last clipped.
    clipped_at: Option<u64>,
    /// Exact zeros from the start mean a fault after this time.
    dead: Seconds,
}

impl InputChecks {
    /// Checks for a stream of `rate`.
    #[must_use]
    pub const fn new(rate: SampleRate) -> Self {
        Self { rate, heard: 0, zeros: 0, alive: false, sounded: false, full: 0, clipped_at: None, dead: DEAD }
    }

    /// Checks for a stream that was opened again after it was lost. It does not count as a microphone until it sounds, since the
    /// loudspeaker's monitor may be in its place.
    #[must_use]
    pub const fn again(rate: SampleRate) -> Self {
        Self { dead: Seconds(0.0), ..Self::new(rate) }
    }

    /// Takes the next samples.
    pub fn take(&mut self, samples: &[f32]) {
        for sample in samples {
            self.heard += 1;
            if *sample == 0.0 {
                self.zeros += 1;
            } else {
                self.zeros = 0;
                self.alive = true;
                self.sounded |= sample.abs() >= SOUND;
            }
            if sample.abs() >= FULL {
                self.full += 1;
                if self.full >= RUN {
                    self.clipped_at = Some(self.heard);
                }
            } else {
                self.full = 0;
            }
        }
    }

    /// What is wrong now.
    pub fn faults(&self) -> impl Iterator<Item = SoundFault> {
        let longer = |count: u64, than: Seconds| count as f64 >= than.0 * self.rate.per_second();
        let dead = !self.alive && longer(self.heard, self.dead);
        let gated = self.sounded && longer(self.zeros, GATED);
        let clipped = self.clipped_at.is_some_and(|at| !longer(self.heard - at, CLIPPED));
        [(dead, SoundFault::Zeros), (gated, SoundFault::Gate), (clipped, SoundFault::Clipping)]
            .into_iter()
            .filter_map(|(wrong, fault)| wrong.then_some(fault))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(pieces: &[(&[f32], usize)]) -> Vec<SoundFault> {
        let mut checks = InputChecks::new(SampleRate::new(1000).unwrap());
        for (samples, times) in pieces {
            for _ in 0..*times {
                checks.take(samples);
            }
        }
        checks.faults().collect()
    }

    #[test]
    fn two_seconds_of_exact_zeros_are_no_microphone() {
        assert_eq!(after(&[(&[0.0], 1999)]), []);
        assert_eq!(after(&[(&[0.0], 2000)]), [SoundFault::Zeros]);
        // The faintest noise shows a microphone in a quiet room.
        assert_eq!(after(&[(&[0.0], 2500), (&[1e-5, -1e-5], 10)]), []);
    }

    #[test]
    fn a_microphone_that_comes_back_is_one_from_its_first_sound_on() {
        let mut checks = InputChecks::again(SampleRate::new(1000).unwrap());
        checks.take(&[0.0]);
        assert_eq!(checks.faults().collect::<Vec<_>>(), [SoundFault::Zeros]);
        checks.take(&[1e-5]);
        assert_eq!(checks.faults().count(), 0);
    }

    #[test]
    fn zeros_after_a_note_are_a_gate_until_sound_comes_through_again() {
        assert_eq!(after(&[(&[0.1, -0.1], 100), (&[0.0], 299)]), []);
        assert_eq!(after(&[(&[0.1, -0.1], 100), (&[0.0], 300)]), [SoundFault::Gate]);
        assert_eq!(after(&[(&[0.1, -0.1], 100), (&[0.0], 300), (&[0.1], 1)]), []);
        // A quiet room's noise before any note, then zeros: nothing was cut off.
        assert_eq!(after(&[(&[1e-4, -1e-4], 100), (&[0.0], 400)]), []);
    }

    #[test]
    fn three_full_samples_in_a_row_clip_and_two_do_not() {
        assert_eq!(after(&[(&[0.5, 1.0, 1.0, 0.5], 1)]), []);
        assert_eq!(after(&[(&[0.5, -1.0, -1.0, -1.0, 0.5], 1)]), [SoundFault::Clipping]);
        assert_eq!(after(&[(&[1.0, 1.0], 2), (&[0.5, 0.4], 1001)]), []);
    }
}
