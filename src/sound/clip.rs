use crate::units::{Decibels, SampleRate, Seconds};

/// Mono sound: samples of -1 to 1 at a rate.
#[derive(Debug, Clone, PartialEq)]
pub struct Clip {
    /// Samples a second.
    pub rate: SampleRate,
    /// The samples, full scale at 1.
    pub samples: Vec<f32>,
}

impl Clip {
    /// A clip of silence.
    #[must_use]
    pub fn silence(rate: SampleRate, length: Seconds) -> Self {
        Self { rate, samples: vec![0.0; rate.samples(length)] }
    }

    /// How long the clip lasts.
    #[must_use]
    pub fn length(&self) -> Seconds {
        self.rate.seconds(self.samples.len())
    }

    /// The level of the largest sample; -200 dB for silence.
    #[must_use]
    pub fn peak(&self) -> Decibels {
        Decibels::of_amplitude(f64::from(self.samples.iter().fold(0.0f32, |top, s| top.max(s.abs()))))
    }

    /// The mean level of samples `from` to `to`, by their mean square (a full-scale sine has -3 dB; common practice); -200 dB for
    /// silence or an empty stretch.
    #[must_use]
    pub fn mean(&self, from: usize, to: usize) -> Decibels {
        let part = self.samples.get(from..to.min(self.samples.len())).unwrap_or(&[]);
        let power: f64 = part.iter().map(|s| f64::from(*s).powi(2)).sum();
        Decibels::of_power(power / part.len().max(1) as f64)
    }

    /// Scales the clip so that its largest sample lies at `peak`; silence stays silence.
    pub fn bring_to(&mut self, peak: Decibels) {
        let now = self.samples.iter().fold(0.0f32, |top, s| top.max(s.abs()));
        if now > 0.0 {
            let factor = peak.amplitude() / f64::from(now);
            self.samples.iter_mut().for_each(|s| *s = (f64::from(*s) * factor) as f32);
        }
    }

    /// Adds `other` into this clip from sample `from` on, growing it where needed. The rates must be equal.
    pub fn mix(&mut self, from: usize, other: &[f32]) {
        if self.samples.len() < from + other.len() {
            self.samples.resize(from + other.len(), 0.0);
        }
        for (mine, theirs) in self.samples[from..].iter_mut().zip(other) {
            *mine += theirs;
        }
    }
}
