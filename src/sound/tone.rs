use std::f64::consts::PI;

use crate::sound::Partials;
use crate::units::{Hertz, SampleRate, Seconds};

/// The shortest rise and fall of a tone: faster ones click.
pub const SOFTEST_EDGE: Seconds = Seconds(0.005);

/// One steady tone to be sounded: it rises, lasts to the end of its nominal length, and then falls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tone {
    /// The pitch, exact to the double precision of the phase.
    pub pitch: Hertz,
    /// Nominal length, the rise included and the fall excluded.
    pub length: Seconds,
    /// Length of the rise, a raised cosine; at least [`SOFTEST_EDGE`] is used.
    pub rise: Seconds,
    /// Length of the fall after the nominal length, a raised cosine; at least [`SOFTEST_EDGE`] is used.
    pub fall: Seconds,
    /// Time in which the level would sink by 60 dB, counted from the first sample; `None` for an even tone.
    pub dying: Option<Seconds>,
}

impl Tone {
    /// Samples with a peak of 1 (before any dying away), `length + fall` long; first and last are zero.
    #[must_use]
    pub fn render(&self, partials: &Partials, rate: SampleRate) -> Vec<f32> {
        let (rise, fall) = (self.rise.max(SOFTEST_EDGE), self.fall.max(SOFTEST_EDGE));
        let (held, falling) = (rate.samples(self.length), rate.samples(fall).max(1));
        let rising = rate.samples(rise).max(1);
        let step = self.pitch.0 / rate.per_second();
        let scale = 1.0 / partials.peak();
        (0..held + falling)
            .map(|index| {
                let up = edge(index as f64 / rising as f64);
                let down = 1.0 - edge((index as f64 + 1.0 - held as f64) / falling as f64);
                let sinking =
                    self.dying.map_or(1.0, |time| 10f64.powf(-3.0 * index as f64 / (time.0 * rate.per_second())));
                (partials.value(step * index as f64) * scale * up * down * sinking) as f32
            })
            .collect()
    }
}

/// A raised cosine from 0 (at or before 0) to 1 (at or after 1): half a Hann window (common practice), which begins without a
/// click.
#[must_use]
pub fn edge(place: f64) -> f64 {
    0.5 - 0.5 * (PI * place.clamp(0.0, 1.0)).cos()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_begins_and_ends_at_rest_and_lasts_its_length_and_fall() {
        let tone =
            Tone { pitch: Hertz(440.0), length: Seconds(0.2), rise: Seconds(0.0), fall: Seconds(0.02), dying: None };
        let rate = SampleRate::DEVICE;
        let samples = tone.render(&Partials::mellow(tone.pitch, rate), rate);
        assert_eq!(samples.len(), 9600 + 960);
        assert!(samples[0].abs() < 1e-6 && samples[samples.len() - 1].abs() < 1e-4);
        let peak = samples.iter().fold(0.0f32, |top, s| top.max(s.abs()));
        assert!((0.98..=1.001).contains(&peak), "{peak}");
    }

    #[test]
    fn a_long_tone_does_not_drift_by_a_hundredth_of_a_cent() {
        let tone = Tone {
            pitch: Hertz(446.163),
            length: Seconds(10.0),
            rise: Seconds(0.01),
            fall: Seconds(0.02),
            dying: None,
        };
        let rate = SampleRate::CD;
        let samples = tone.render(&Partials::new(&[1.0], tone.pitch, rate), rate);
        // Rising zero crossings, interpolated: an independent count of the periods.
        let crossings: Vec<f64> = (1000..samples.len() - 2000)
            .filter(|&at| samples[at] <= 0.0 && samples[at + 1] > 0.0)
            .map(|at| at as f64 + f64::from(-samples[at] / (samples[at + 1] - samples[at])))
            .collect();
        let periods = (crossings.len() - 1) as f64;
        let hz = periods * rate.per_second() / (crossings[crossings.len() - 1] - crossings[0]);
        assert!((1200.0 * (hz / tone.pitch.0).log2()).abs() < 0.01, "{hz}");
    }
}
