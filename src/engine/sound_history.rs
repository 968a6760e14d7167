use std::collections::VecDeque;
use std::sync::Arc;

use crate::sound::SharedSound;
use crate::units::{SampleRate, Seconds};

/// Length of the past that is kept for the record of a drill: the longest answer, with room to spare.
pub(super) const KEPT: Seconds = Seconds(120.0);
/// Number of samples in a block. Answers share whole blocks, so that the program grows by blocks alone.
const BLOCK: usize = 12_000;

/// The newest sound of the input, for the record and for playing back, in blocks that an answer shares.
#[derive(Debug)]
pub struct SoundHistory {
    rate: SampleRate,
    /// How much is kept.
    kept: Seconds,
    /// Blocks that are closed, the oldest first.
    blocks: VecDeque<Arc<Vec<f32>>>,
    /// Number of samples in the blocks that are closed.
    length: usize,
    /// Blocks that are too old for the history, and that an answer still uses.
    lent: Vec<Arc<Vec<f32>>>,
    /// The block that is being filled.
    newest: Vec<f32>,
    /// Blocks that nobody uses any more, to be filled again.
    spare: Vec<Vec<f32>>,
    /// Instant after the newest sample.
    end: Seconds,
}

impl SoundHistory {
    /// An empty history, which keeps sound of the length `kept`.
    #[must_use]
    pub fn new(rate: SampleRate, kept: Seconds) -> Self {
        let (blocks, newest) = (VecDeque::new(), Vec::with_capacity(BLOCK));
        let (lent, spare) = (Vec::new(), Vec::new());
        Self { rate, kept, blocks, length: 0, lent, newest, spare, end: Seconds(0.0) }
    }

    /// Forgets everything; what comes next has this rate.
    pub fn forget(&mut self, rate: SampleRate) {
        self.rate = rate;
        self.newest.clear();
        self.drop_all_but(0);
    }

    /// Adds what was heard from `at` on; a hole before it, or another rate, empties the history, for instants
    /// would not fit any more.
    pub fn add(&mut self, at: Seconds, rate: SampleRate, samples: &[f32]) {
        if (at.0 - self.end.0).abs() > 0.005 || rate != self.rate {
            self.forget(rate);
        }
        let mut left = samples;
        while !left.is_empty() {
            let (now, later) = left.split_at(left.len().min(BLOCK - self.newest.len()));
            self.newest.extend(now);
            left = later;
            if self.newest.len() == BLOCK {
                self.seal();
            }
        }
        self.end = at + rate.seconds(samples.len());
    }

    /// Closes the block that is being filled, and drops the oldest where enough are kept.
    fn seal(&mut self) {
        if !self.newest.is_empty() {
            let empty = self.spare.pop().unwrap_or_else(|| Vec::with_capacity(BLOCK));
            let full = std::mem::replace(&mut self.newest, empty);
            self.length += full.len();
            self.blocks.push_back(Arc::new(full));
            self.take_back();
            let most = self.rate.samples(self.kept);
            let lent: usize = self.lent.iter().map(|block| block.len()).sum();
            // What is lent counts as kept, so that a long answer does not make the program grow; at least half the length stays here.
            self.drop_all_but(most.saturating_sub(lent).max(most / 2));
        }
    }

    /// Makes spare the lent blocks that nobody uses any more.
    fn take_back(&mut self) {
        for block in std::mem::take(&mut self.lent) {
            self.put_by(block);
        }
    }

    /// Puts by a block that the history needs no more: as spare, or as lent while an answer still uses it.
    fn put_by(&mut self, block: Arc<Vec<f32>>) {
        match Arc::try_unwrap(block) {
            Ok(mut free) => {
                free.clear();
                self.spare.push(free);
            }
            Err(held) => self.lent.push(held),
        }
    }

    /// Drops the oldest blocks as long as at least this many samples are left.
    fn drop_all_but(&mut self, samples: usize) {
        while self.blocks.front().is_some_and(|oldest| self.length - oldest.len() >= samples) {
            let Some(oldest) = self.blocks.pop_front() else { return };
            self.length -= oldest.len();
            self.put_by(oldest);
        }
    }

    /// The sound between two instants, as far as it is still there.
    pub fn between(&mut self, from: Seconds, to: Seconds) -> SharedSound {
        self.seal();
        let begin = self.end - self.rate.seconds(self.length);
        let first = self.rate.samples(from - begin).min(self.length);
        let last = self.rate.samples(to - begin).clamp(first, self.length);
        let (mut blocks, mut skipped, mut at) = (Vec::new(), 0, 0);
        for block in &self.blocks {
            let next = at + block.len();
            if next > first && at < last {
                skipped = if blocks.is_empty() { first - at } else { skipped };
                blocks.push(Arc::clone(block));
            }
            at = next;
        }
        SharedSound { rate: self.rate, blocks, skipped, count: last - first }
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

    fn between(history: &mut SoundHistory, from: f64, to: f64) -> Vec<f32> {
        history.between(Seconds(from), Seconds(to)).to_clip().samples
    }

    #[test]
    fn what_was_played_can_be_cut_out_again() {
        let mut history = SoundHistory::new(SampleRate::CD, KEPT);
        let tone: Vec<f32> = (0..44_100).map(|n| n as f32).collect();
        for (n, block) in tone.chunks(441).enumerate() {
            history.add(Seconds(n as f64 * 0.01), SampleRate::CD, block);
        }
        let cut = between(&mut history, 0.25, 0.26);
        assert_eq!(cut.len(), 441);
        assert!((cut[0] - 11_025.0).abs() <= 1.0);
    }

    #[test]
    fn a_hole_in_the_sound_is_not_bridged() {
        let mut history = SoundHistory::new(SampleRate::CD, KEPT);
        history.add(Seconds(0.0), SampleRate::CD, &[1.0; 441]);
        history.add(Seconds(5.0), SampleRate::CD, &[2.0; 441]);
        assert!(between(&mut history, 0.0, 6.0).iter().all(|&sample| sample == 2.0));
    }

    #[test]
    fn what_an_answer_holds_stays_and_what_nobody_holds_is_filled_again() {
        let mut history = SoundHistory::new(SampleRate::CD, Seconds(1.0));
        let add = |history: &mut SoundHistory, n: u32| {
            history.add(Seconds(f64::from(n) * 0.1), SampleRate::CD, &[n as f32; 4410]);
        };
        (0..10).for_each(|n| add(&mut history, n));
        let held = history.between(Seconds(0.2), Seconds(0.3));
        (10..200).for_each(|n| add(&mut history, n));
        assert_eq!(held.to_clip().samples, [2.0; 4410]);
        // A second at 12,000 samples a block, and one that is being filled.
        assert!(history.blocks.len() <= 5 && history.spare.len() <= 2, "{history:?}");
        assert_eq!(between(&mut history, 19.5, 19.6), [195.0; 4410]);
        assert!(between(&mut history, 0.0, 1.0).is_empty());
    }

    #[test]
    fn a_long_answer_that_is_kept_makes_the_history_no_larger() {
        let mut history = SoundHistory::new(SampleRate::CD, Seconds(20.0));
        let mut most = 0;
        let mut answered = history.between(Seconds(0.0), Seconds(0.0));
        for n in 0..600_u32 {
            let at = f64::from(n) * 0.1;
            history.add(Seconds(at), SampleRate::CD, &[n as f32; 4410]);
            // Each answer lasts eight seconds, and is held until the next one comes.
            if n % 80 == 79 {
                answered = history.between(Seconds(at - 7.9), Seconds(at));
                assert_eq!(answered.count, 348_390);
            }
            most = most.max(history.blocks.len() + history.lent.len() + history.spare.len() + 1);
        }
        // Twenty seconds at 12,000 samples are 74 blocks; the cut of an answer closes one before it is full.
        assert!(most <= 78, "{most} blocks");
        assert!(!answered.to_clip().samples.is_empty());
    }
}
