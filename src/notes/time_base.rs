use crate::units::{Hertz, SampleRate, Seconds};

/// A stream of twice this rate or more, in hertz, is thinned by a whole factor to a rate no lower than this before anything is
/// heard in it.
const THIN_ABOVE_HZ: f64 = 44_100.0;
/// Length of a hop, the step from frame to frame, in seconds; it is rounded to whole samples of the lowest band.
const HOP_S: f64 = 128.0 / 44_100.0;

/// Rates and lengths that follow from the rate of the stream alone. Positions inside the ear count *heard samples*: those of
/// the stream, thinned by `thin` for streams of high rate.
#[derive(Debug, Clone, Copy)]
pub(super) struct TimeBase {
    /// Samples of the stream to one heard sample.
    pub(super) thin: usize,
    /// Heard samples a second.
    pub(super) heard_hz: f64,
    /// Heard samples to one of the middle band.
    pub(super) middle: usize,
    /// Heard samples to one of the low band; a multiple of `middle`.
    pub(super) low: usize,
    /// Heard samples to a frame; a multiple of `low`.
    pub(super) hop: usize,
    /// Samples of the stream a second.
    stream_hz: f64,
    /// Delay of the thinning filter, in samples of the stream.
    delay: f64,
}

impl TimeBase {
    /// The clock of a stream.
    pub(super) fn new(rate: SampleRate) -> Self {
        let stream_hz = rate.per_second();
        let thin = ((stream_hz / THIN_ABOVE_HZ).floor() as usize).max(1);
        let heard_hz = stream_hz / thin as f64;
        let middle = ((heard_hz / 11_025.0).round() as usize).max(1);
        let low = middle * ((heard_hz / (5512.5 * middle as f64)).round() as usize).max(1);
        let hop = low * ((heard_hz * HOP_S / low as f64).round() as usize).max(1);
        let delay = if thin > 1 { (Self::taps(thin) as f64 - 1.0) / 2.0 } else { 0.0 };
        Self { thin, heard_hz, middle, low, hop, stream_hz, delay }
    }

    /// Length of the thinning filter.
    pub(super) const fn taps(thin: usize) -> usize {
        32 * thin
    }

    /// The instant of the stream that heard sample `position` stands for.
    pub(super) fn at(&self, position: i64) -> Seconds {
        Seconds(((position as f64 * self.thin as f64 - self.delay) / self.stream_hz).max(0.0))
    }

    /// The end of the last sample of the stream that was needed to hear up to `position`.
    pub(super) fn known(&self, position: i64) -> Seconds {
        Seconds(position as f64 * self.thin as f64 / self.stream_hz)
    }

    /// Heard samples in `ms` milliseconds.
    pub(super) fn ms(&self, ms: f64) -> i64 {
        (self.heard_hz * ms * 0.001).round() as i64
    }

    /// Number of whole hops that last at least `ms` milliseconds.
    pub(super) fn hops(&self, ms: f64) -> usize {
        ((self.heard_hz * ms * 0.001) / self.hop as f64 - 1e-6).ceil().max(1.0) as usize
    }

    /// Number of whole hops that last at least `samples` heard samples.
    pub(super) fn hops_of(&self, samples: f64) -> usize {
        (samples / self.hop as f64 - 1e-6).ceil().max(1.0) as usize
    }

    /// Half steps above A4 = 440 Hz of a period in heard samples (equal temperament).
    pub(super) fn semitone(&self, period: f64) -> f64 {
        12.0 * (self.heard_hz / period / 440.0).log2()
    }

    /// The period in heard samples of a pitch in half steps above A4 = 440 Hz.
    pub(super) fn period(&self, semitone: f64) -> f64 {
        self.heard_hz / (440.0 * (semitone / 12.0).exp2())
    }

    /// The frequency of a pitch in half steps above A4 = 440 Hz (equal temperament).
    pub(super) fn hertz(semitone: f64) -> Hertz {
        Hertz(440.0 * (semitone / 12.0).exp2())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rate_has_a_hop_of_about_three_milliseconds() {
        for hz in [8000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000] {
            let time = TimeBase::new(SampleRate::new(hz).unwrap());
            let hop_ms = 1000.0 * time.hop as f64 / time.heard_hz;
            assert!((2.5..3.4).contains(&hop_ms), "{hz}: {hop_ms}");
            assert_eq!(time.hop % time.low + time.low % time.middle, 0, "{hz}");
        }
        assert_eq!(TimeBase::new(SampleRate::CD).hop, 128);
    }
}
