use std::collections::VecDeque;

use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

/// So much of the past is kept for the record of a drill: the longest answer with room to spare.
pub(super) const KEPT: Seconds = Seconds(120.0);

/// The newest sound of the input, for the record and for playing back.
#[derive(Debug)]
pub struct SoundHistory {
    rate: SampleRate,
    /// How much is kept.
    kept: Seconds,
    samples: VecDeque<f32>,
    /// Instant after the newest sample.
    end: Seconds,
}

impl SoundHistory {
    /// A history of nothing, with room for so much. The whole room is taken at the beginning: a queue that grows takes twice
    /// as much, and touches it late.
    #[must_use]
    pub fn new(rate: SampleRate, kept: Seconds) -> Self {
        Self { rate, kept, samples: VecDeque::with_capacity(rate.samples(kept)), end: Seconds(0.0) }
    }

    /// Forgets everything; what comes next has this rate.
    pub fn forget(&mut self, rate: SampleRate) {
        self.samples.clear();
        self.at_rate(rate);
    }

    /// Takes sound of this rate from now on, in the same room where the rate is the same.
    fn at_rate(&mut self, rate: SampleRate) {
        if rate != self.rate {
            *self = Self::new(rate, self.kept);
        }
    }

    /// Adds what was heard from `at` on; a hole before it empties the history, for instants would not fit any more.
    pub fn add(&mut self, at: Seconds, rate: SampleRate, samples: &[f32]) {
        let hole = (at.0 - self.end.0).abs() > 0.005;
        if hole || rate != self.rate {
            self.samples.clear();
        }
        self.at_rate(rate);
        let room = rate.samples(self.kept);
        let newest = &samples[samples.len().saturating_sub(room)..];
        let over = (self.samples.len() + newest.len()).saturating_sub(room);
        self.samples.drain(..over);
        self.samples.extend(newest);
        self.end = at + rate.seconds(samples.len());
    }

    /// Writes the sound between two instants, as far as it is still there, in place of what `into` has.
    pub fn between(&self, from: Seconds, to: Seconds, into: &mut Clip) {
        let begin = self.end - self.rate.seconds(self.samples.len());
        let first = self.rate.samples(from - begin).min(self.samples.len());
        let last = self.rate.samples(to - begin).clamp(first, self.samples.len());
        into.rate = self.rate;
        into.samples.clear();
        // No more than is needed: doubled, long answers would take twice their room.
        into.samples.reserve_exact(last - first);
        into.samples.extend(self.samples.range(first..last));
    }

    /// Rate of the sound.
    #[must_use]
    pub const fn rate(&self) -> SampleRate {
        self.rate
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn between(history: &SoundHistory, from: f64, to: f64) -> Vec<f32> {
        let mut clip = Clip::silence(SampleRate::CD, Seconds(1.0));
        history.between(Seconds(from), Seconds(to), &mut clip);
        clip.samples
    }

    #[test]
    fn what_was_played_can_be_cut_out_again() {
        let mut history = SoundHistory::new(SampleRate::CD, KEPT);
        let tone: Vec<f32> = (0..44_100).map(|n| n as f32).collect();
        for (n, block) in tone.chunks(441).enumerate() {
            history.add(Seconds(n as f64 * 0.01), SampleRate::CD, block);
        }
        let cut = between(&history, 0.25, 0.26);
        assert_eq!(cut.len(), 441);
        assert!((cut[0] - 11_025.0).abs() <= 1.0);
    }

    #[test]
    fn a_hole_in_the_sound_is_not_bridged() {
        let mut history = SoundHistory::new(SampleRate::CD, KEPT);
        history.add(Seconds(0.0), SampleRate::CD, &[1.0; 441]);
        history.add(Seconds(5.0), SampleRate::CD, &[2.0; 441]);
        assert!(between(&history, 0.0, 6.0).iter().all(|&sample| sample == 2.0));
    }
}
