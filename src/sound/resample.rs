use crate::sound::Clip;
use crate::units::SampleRate;
use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Resampler};

/// Frames that the resampler takes at once: long enough for a steep filter, short enough that a clip of a tenth of a second
/// fills some of them.
const CHUNK: usize = 1024;

impl Clip {
    /// The same sound at another rate, as long as before. What the new rate cannot carry is filtered out, so that nothing folds
    /// back (the band-limited resampling of the crate `rubato`, by Fourier transforms). `None` where that crate refuses the pair
    /// of rates.
    ///
    /// Allocates, so it has no place in an audio callback.
    #[must_use]
    pub fn at_rate(&self, rate: SampleRate) -> Option<Self> {
        if rate == self.rate || self.samples.is_empty() {
            return Some(Self { rate, samples: self.samples.clone() });
        }
        let (from, to) = (self.rate.hz() as usize, rate.hz() as usize);
        let count = self.samples.len();
        let mut resampler = Fft::<f32>::new(from, to, CHUNK, 1, FixedSync::Input).ok()?;
        let mono = InterleavedSlice::new(&self.samples, 1, count).ok()?;
        let mut samples = resampler.process_all(&mono, count, None).ok()?.take_data();
        samples.resize(rate.samples(self.length()), 0.0);
        Some(Self { rate, samples })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Seconds;
    use std::f64::consts::TAU;

    /// One second of a full-scale sine.
    fn sine(hz: f64, rate: SampleRate) -> Clip {
        let at = |n: usize| (TAU * hz * n as f64 / rate.per_second()).sin() as f32;
        Clip { rate, samples: (0..rate.samples(Seconds(1.0))).map(at).collect() }
    }

    /// Mean power of the middle of a clip (its ends ring), against that of a full-scale sine, dB.
    fn level_db(clip: &Clip) -> f64 {
        let count = clip.samples.len();
        clip.mean(count / 4, 3 * count / 4).0 + 3.0103
    }

    #[test]
    fn an_answer_at_another_rate_lasts_as_long() {
        for (from, to) in [(44_100, 48_000), (48_000, 44_100), (16_000, 48_000), (48_000, 22_050), (96_000, 44_100)] {
            let (from, to) = (SampleRate::new(from).unwrap(), SampleRate::new(to).unwrap());
            for samples in [0, 1, 300, 44_100] {
                let clip = Clip { rate: from, samples: vec![0.5; samples] };
                let moved = clip.at_rate(to).unwrap();
                assert_eq!((moved.rate, moved.samples.len()), (to, to.samples(clip.length())));
            }
        }
    }

    #[test]
    fn a_note_keeps_its_pitch_its_level_and_its_instant() {
        // The sampling theorem (Shannon 1949): below half the rate the samples of the new rate are those of the same sine.
        for (from, to) in [(SampleRate::CD, SampleRate::DEVICE), (SampleRate::DEVICE, SampleRate::CD)] {
            for hz in [110.0, 1760.0, 12_000.0] {
                let (moved, due) = (sine(hz, from).at_rate(to).unwrap(), sine(hz, to));
                let middle = moved.samples.len() / 4..3 * moved.samples.len() / 4;
                let off = moved.samples[middle.clone()].iter().zip(&due.samples[middle]);
                let worst = off.map(|(one, other)| (one - other).abs()).fold(0.0, f32::max);
                assert!(worst < 1e-3, "{hz} Hz, {} to {}: {worst}", from.hz(), to.hz());
            }
        }
    }

    #[test]
    fn what_the_lower_rate_cannot_carry_does_not_fold_back() {
        // 15 kHz lies above half of 22.05 kHz: left in, it would sound at 7.05 kHz (the sampling theorem).
        let low = SampleRate::new(22_050).unwrap();
        let left = level_db(&sine(15_000.0, SampleRate::DEVICE).at_rate(low).unwrap());
        assert!(left < -60.0, "{left} dB");
        // On the way up, the images of 8 kHz lie beyond 14 kHz, where nothing else is.
        let up = sine(8_000.0, low).at_rate(SampleRate::DEVICE).unwrap();
        let due = sine(8_000.0, SampleRate::DEVICE);
        let rest: Vec<f32> = up.samples.iter().zip(&due.samples).map(|(one, other)| one - other).collect();
        let rest = level_db(&Clip { rate: SampleRate::DEVICE, samples: rest });
        assert!(rest < -60.0, "{rest} dB");
    }
}
