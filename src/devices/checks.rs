//! What can be told from the microphone's samples alone: silence that is none, a gate, and too much level.

use crate::units::{SampleRate, Seconds};

use super::failing::Side;

/// Exact zeros for so long from the start: no microphone behind it, or no permission.
const DEAD: Seconds = Seconds(2.0);
/// Exact zeros for so long after sound: a gate or a mute.
const GATED: Seconds = Seconds(0.3);
/// A word about clipping stays this long after the last clipped sample.
const CLIPPED: Seconds = Seconds(2.0);
/// As full as the 16-bit format gets.
const FULL: f32 = 0.9995;
/// So many full samples in a row are no accident.
const RUN: usize = 3;
/// From this amplitude on (-50 dB) a sample counts as sound.
const SOUND: f32 = 0.003;

/// What can be wrong with the devices.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fault {
    /// No callback for half a second (3 s after opening), an error storm, or the device said so. It is being opened again.
    Lost(Side),
    /// Opening or closing a device has taken longer than 15 s.
    Opening,
    /// Exact zeros for the first two seconds.
    Zeros,
    /// Exact zeros after sound was heard.
    Gate,
    /// At least three samples in a row at full scale.
    Clipping,
    /// Our own cue comes back at full level with no room in it: the loudspeaker's monitor, not a microphone.
    Monitor,
    /// The sound faltered again and again: both sides are being opened anew, as was asked for.
    Faltering,
}

/// Listens to one stream of samples for what no real microphone sends.
#[derive(Debug, Clone)]
pub struct Checks {
    rate: SampleRate,
    heard: u64,
    zeros: u64,
    alive: bool,
    sounded: bool,
    full: usize,
    clipped_at: Option<u64>,
    /// Exact zeros from the start are told after so long.
    dead: Seconds,
}

impl Checks {
    /// Checks for a stream of `rate`.
    #[must_use]
    pub const fn new(rate: SampleRate) -> Self {
        Self { rate, heard: 0, zeros: 0, alive: false, sounded: false, full: 0, clipped_at: None, dead: DEAD }
    }

    /// Checks for a stream that was opened again after it was lost: it is no microphone until it sounds, for in its place there
    /// may be the loudspeaker's monitor.
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
    pub fn faults(&self) -> impl Iterator<Item = Fault> {
        let longer = |count: u64, than: Seconds| count as f64 >= than.0 * self.rate.per_second();
        let dead = !self.alive && longer(self.heard, self.dead);
        let gated = self.sounded && longer(self.zeros, GATED);
        let clipped = self.clipped_at.is_some_and(|at| !longer(self.heard - at, CLIPPED));
        [(dead, Fault::Zeros), (gated, Fault::Gate), (clipped, Fault::Clipping)]
            .into_iter()
            .filter_map(|(wrong, fault)| wrong.then_some(fault))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(pieces: &[(&[f32], usize)]) -> Vec<Fault> {
        let mut checks = Checks::new(SampleRate::new(1000).unwrap());
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
        assert_eq!(after(&[(&[0.0], 2000)]), [Fault::Zeros]);
        // The faintest noise is a microphone in a quiet room.
        assert_eq!(after(&[(&[0.0], 2500), (&[1e-5, -1e-5], 10)]), []);
    }

    #[test]
    fn a_microphone_that_comes_back_is_one_from_its_first_sound_on() {
        let mut checks = Checks::again(SampleRate::new(1000).unwrap());
        checks.take(&[0.0]);
        assert_eq!(checks.faults().collect::<Vec<_>>(), [Fault::Zeros]);
        checks.take(&[1e-5]);
        assert_eq!(checks.faults().count(), 0);
    }

    #[test]
    fn zeros_after_a_note_are_a_gate_until_sound_comes_through_again() {
        assert_eq!(after(&[(&[0.1, -0.1], 100), (&[0.0], 299)]), []);
        assert_eq!(after(&[(&[0.1, -0.1], 100), (&[0.0], 300)]), [Fault::Gate]);
        assert_eq!(after(&[(&[0.1, -0.1], 100), (&[0.0], 300), (&[0.1], 1)]), []);
        // A quiet room's noise before any note, then zeros: nothing was cut off.
        assert_eq!(after(&[(&[1e-4, -1e-4], 100), (&[0.0], 400)]), []);
    }

    #[test]
    fn three_full_samples_in_a_row_clip_and_two_do_not() {
        assert_eq!(after(&[(&[0.5, 1.0, 1.0, 0.5], 1)]), []);
        assert_eq!(after(&[(&[0.5, -1.0, -1.0, -1.0, 0.5], 1)]), [Fault::Clipping]);
        assert_eq!(after(&[(&[1.0, 1.0], 2), (&[0.5, 0.4], 1001)]), []);
    }
}
