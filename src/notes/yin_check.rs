use pitch_detection::detector::internals::{pitch_from_peaks, yin_normalize_square_error};
use pitch_detection::utils::peak::PeakCorrection;

use super::bands::Bands;
use super::filters::dot;
use super::time_base::TimeBase;

/// Largest difference between the two pitches that counts as agreement, half steps.
const NEAR: f64 = 0.5;
/// Smallest window, in samples of its band.
const SMALLEST: usize = 256;
/// Largest window, in samples of its band.
const LARGEST: usize = 2048;
/// A window of less energy has no period.
const SILENT: f32 = 1e-9;
/// A lag whose normalised difference falls below this is a period.
const THRESHOLD: f32 = 0.2;

/// YIN (de Cheveigne and Kawahara, "YIN, a fundamental frequency estimator for speech and music", 2002) as `pitch-detection` has
/// it. The ear normalises and picks otherwise, so that YIN judges the middle of a note independently, once for each note. The
/// differences are summed here, because the package would plan a Fourier transform anew each time and ask for memory, which the ear
/// must not.
#[derive(Debug, Clone)]
pub(super) struct YinCheck {
    /// Memory for the difference function.
    differences: Vec<f32>,
}

impl YinCheck {
    /// A check with memory for the largest window.
    pub(super) fn new() -> Self {
        Self { differences: vec![0.0; LARGEST / 2] }
    }

    /// Measures the steady middle of a note (of a long one, the oldest sound that is kept): whether YIN finds its pitch. True where the
    /// note is too short to say.
    pub(super) fn agrees(
        &mut self,
        bands: &Bands,
        time: &TimeBase,
        (onset, release): (i64, i64),
        semitone: f64,
    ) -> bool {
        let period = time.period(semitone);
        let band = if period > time.heard_hz / 300.0 { &bands.bands[1] } else { &bands.bands[0] };
        let factor = band.factor as f64;
        let own_period = period / factor;
        let size = ((4.5 * own_period) as usize).next_power_of_two().clamp(SMALLEST, LARGEST);
        let length = ((release - onset) as f64 / factor) as usize;
        if own_period * 2.0 > size as f64 / 2.0 || length < size {
            return true;
        }
        let middle = (0.5 * (onset + release) as f64 / factor) as i64;
        let oldest = band.history.end() - (time.heard_hz * 0.7 / factor) as i64;
        let begin = (middle - size as i64 / 2).max(oldest);
        let window = band.history.window(begin, begin + size as i64);
        if window.len() != size {
            return true;
        }
        self.period(window).is_some_and(|period| (time.semitone(period * factor) - semitone).abs() < NEAR)
    }

    /// The first lag of half the window whose cumulative mean normalised difference has a minimum below the threshold, in
    /// samples.
    fn period(&mut self, window: &[f32]) -> Option<f64> {
        let half = window.len() / 2;
        let differences = self.differences.get_mut(..half)?;
        let still = &window[..half];
        let energy = dot(still, still);
        if energy < SILENT {
            return None;
        }
        let mut moved = energy;
        for (lag, difference) in differences.iter_mut().enumerate().skip(1) {
            moved += window[lag + half - 1].powi(2) - window[lag - 1].powi(2);
            *difference = (energy + moved - 2.0 * dot(still, &window[lag..lag + half])).max(0.0);
        }
        yin_normalize_square_error(differences);
        // The package looks for peaks above zero, so the curve is turned over: a dip below the threshold becomes such a peak.
        differences.iter_mut().for_each(|difference| *difference = THRESHOLD - *difference);
        pitch_from_peaks(differences, 1, 0.0, PeakCorrection::Quadratic).map(|pitch| 1.0 / f64::from(pitch.frequency))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_opinion_knows_the_period_of_a_tone_with_a_weak_first_partial() {
        // The period of partials 1, 2 and 3 is that of the first, however soft it is.
        let turn = std::f64::consts::TAU / 97.3;
        let tone: Vec<f32> = (0..1024)
            .map(|n| {
                [(1.0, 0.1), (2.0, 1.0), (3.0, 0.7)].iter().map(|(k, a)| a * (turn * k * f64::from(n)).sin()).sum()
            })
            .map(|s: f64| s as f32)
            .collect();
        let heard = YinCheck::new().period(&tone).unwrap();
        assert!((heard - 97.3).abs() < 0.1, "{heard}");
        assert_eq!(YinCheck::new().period(&[0.0; 1024]), None);
    }
}
