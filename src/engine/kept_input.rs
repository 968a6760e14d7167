use crate::sound::{Clip, InputStretch, SoundBlock};
use crate::units::{SampleRate, Seconds, greatest_common};

/// The newest sound of the input as it came in, until it is taken.
#[derive(Debug)]
pub(super) struct KeptInput {
    clip: Clip,
    from: Seconds,
    until: Seconds,
    whole: bool,
    /// Number of samples before the first that is kept, since the input was opened.
    before: usize,
    /// What is forgotten is a multiple of so many samples, so that whoever hears the rest again divides it into the same windows.
    step: usize,
    /// Holes up to this length are heard as silence.
    bridged: Seconds,
}

impl KeptInput {
    /// Nothing so far. Windows of both lengths, in samples, fall on the same places when the sound is heard again.
    pub(super) fn new(rate: SampleRate, windows: [usize; 2], bridged: Seconds) -> Self {
        let clip = Clip { rate, samples: Vec::new() };
        let [one, other] = windows.map(|window| window.max(1));
        let step = one / greatest_common(one, other) * other;
        Self { clip, from: Seconds(0.0), until: Seconds(0.0), whole: true, before: 0, step, bridged }
    }

    /// Adds a block.
    pub(super) fn add(&mut self, block: SoundBlock, samples: &[f32]) {
        if block.gap.0 > self.bridged.0 || block.rate != self.clip.rate {
            self.before += self.clip.samples.len();
            self.clip = Clip { rate: block.rate, samples: Vec::new() };
            self.whole = false;
        } else if block.gap.0 > 0.0 {
            let silent = self.clip.samples.len() + block.rate.samples(block.gap);
            self.begin_at(block.at - block.gap);
            self.clip.samples.resize(silent, 0.0);
        }
        self.begin_at(block.at);
        self.clip.samples.extend_from_slice(samples);
        self.until = block.at + block.rate.seconds(samples.len());
    }

    fn begin_at(&mut self, at: Seconds) {
        if self.clip.samples.is_empty() {
            self.from = at;
        }
    }

    /// Forgets all but a little more than the newest `but`.
    pub(super) fn forget(&mut self, but: Seconds) {
        let spare = self.clip.samples.len().saturating_sub(self.clip.rate.samples(but));
        // Samples are moved seldom.
        if spare > 2 * self.step.max(self.clip.rate.samples(but)) {
            let past = (self.before + spare) / self.step * self.step;
            let gone = past.saturating_sub(self.before);
            self.clip.samples.drain(..gone);
            (self.before, self.from) = (self.before + gone, self.from + self.clip.rate.seconds(gone));
        }
        self.whole = true;
    }

    /// Hands out what is kept.
    pub(super) fn take(&mut self) -> InputStretch {
        let clip = Clip { rate: self.clip.rate, samples: std::mem::take(&mut self.clip.samples) };
        self.before += clip.samples.len();
        InputStretch { clip, from: self.from, until: self.until, whole: std::mem::replace(&mut self.whole, true) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept(blocks: usize) -> KeptInput {
        let mut kept = KeptInput::new(SampleRate::DEVICE, [768, 240], Seconds(0.25));
        for n in 0..blocks {
            let at = Seconds(0.01 * n as f64);
            kept.add(SoundBlock { at, rate: SampleRate::DEVICE, gap: Seconds(0.0) }, &[n as f32; 480]);
        }
        kept
    }

    #[test]
    fn what_is_kept_goes_on_where_it_was_taken_and_is_whole() {
        let mut kept = kept(100);
        let first = kept.take();
        assert_eq!((first.clip.samples.len(), first.whole, first.from), (48_000, true, Seconds(0.0)));
        kept.add(SoundBlock { at: Seconds(1.01), rate: SampleRate::DEVICE, gap: Seconds(0.01) }, &[1.0; 480]);
        let second = kept.take();
        assert!(second.whole && (second.from.0 - 1.0).abs() < 1e-9, "a short hole is silence: {second:?}");
        assert_eq!((second.clip.samples.len(), second.clip.samples[479], second.clip.samples[480]), (960, 0.0, 1.0));
        kept.add(SoundBlock { at: Seconds(9.0), rate: SampleRate::DEVICE, gap: Seconds(7.98) }, &[1.0; 480]);
        let third = kept.take();
        assert!(!third.whole && third.clip.samples.len() == 480, "a long hole is none");
    }

    #[test]
    fn what_is_forgotten_keeps_the_windows_of_who_hears_again() {
        let mut kept = kept(1000);
        kept.forget(Seconds(1.0));
        let left = kept.take();
        let from = (left.from.0 * 48_000.0).round() as usize;
        assert_eq!((from % 768, from % 240, left.clip.samples[0]), (0, 0, (from / 480) as f32));
        assert!((1.0..1.2).contains(&left.clip.length().0) && (left.until.0 - 10.0).abs() < 1e-9);
    }
}
