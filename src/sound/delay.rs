//! Where one sound lies inside another, by cross-correlation.

use rustfft::FftPlanner;
use rustfft::num_complex::Complex;

/// The peak of a cross-correlation: where one sound lies inside another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CorrelationPeak {
    /// Sample of the longer sound, with fraction, at which the shorter one begins.
    pub at: f64,
    /// How alike the two sounds are there, 0 to 1: 1 for the same sound at any level and either polarity.
    pub likeness: f64,
}

/// Looks for one sound in another. It keeps its tables and its memory, some 3 MB for sounds of a second: if each search took them
/// and gave them back, a program that searches now and then would grow each time.
pub struct SoundFinder {
    /// Makes and keeps the tables of each size.
    planner: FftPlanner<f32>,
    /// Spectrum of the shorter sound.
    short: Vec<Complex<f32>>,
    /// Spectrum of the longer sound, then the correlation.
    long: Vec<Complex<f32>>,
    /// Memory of the transforms.
    beside: Vec<Complex<f32>>,
    /// The envelope of the correlation, one value for each shift.
    envelope: Vec<f32>,
}

impl Default for SoundFinder {
    fn default() -> Self {
        let planner = FftPlanner::new();
        Self { planner, short: Vec::new(), long: Vec::new(), beside: Vec::new(), envelope: Vec::new() }
    }
}

impl std::fmt::Debug for SoundFinder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SoundFinder").field("size", &self.long.len()).finish_non_exhaustive()
    }
}

impl SoundFinder {
    /// Where `wanted` as a whole lies in `within`: the place of greatest correlation. `None` where `wanted` is empty or longer than
    /// `within`, or where one of the two is silent.
    #[must_use]
    pub fn find(&mut self, wanted: &[f32], within: &[f32]) -> Option<CorrelationPeak> {
        self.correlate(wanted, within)?;
        let (best, _) = self.envelope.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
        found(&self.envelope, best, wanted, within)
    }

    /// The first place where `wanted` lies in `within`: the earliest peak of at least `share` of the greatest. For sounds with one sharp
    /// peak, such as a sweep, this is the direct sound even when a reflection is stronger. `None` as for [`SoundFinder::find`].
    #[must_use]
    pub fn find_first(&mut self, wanted: &[f32], within: &[f32], share: f32) -> Option<CorrelationPeak> {
        self.correlate(wanted, within)?;
        let limit = share * self.envelope.iter().copied().fold(0.0f32, f32::max);
        let value = |index: usize| self.envelope.get(index).copied().unwrap_or(0.0);
        let first = (0..self.envelope.len()).find(|index| {
            value(*index) >= limit
                && value(*index) >= value(index + 1)
                && (*index == 0 || value(*index) >= value(*index - 1))
        })?;
        found(&self.envelope, first, wanted, within)
    }

    /// Fills `envelope` with the envelope of the cross-correlation for every whole shift: the size of its analytic signal, so
    /// that neither polarity nor the phase of the loudspeaker matters.
    fn correlate(&mut self, wanted: &[f32], within: &[f32]) -> Option<()> {
        let silent = |sound: &[f32]| sound.iter().all(|sample| *sample == 0.0);
        if wanted.is_empty() || wanted.len() > within.len() || silent(wanted) || silent(within) {
            return None;
        }
        // None of the shifts that are asked for goes round the end, so the longer sound's own length is enough.
        let size = within.len().next_power_of_two();
        let forward = self.planner.plan_fft_forward(size);
        let inverse = self.planner.plan_fft_inverse(size);
        let zero = Complex::new(0.0f32, 0.0);
        self.beside.resize(forward.get_inplace_scratch_len().max(inverse.get_inplace_scratch_len()), zero);
        for (room, sound) in [(&mut self.short, wanted), (&mut self.long, within)] {
            room.clear();
            room.extend(sound.iter().map(|sample| Complex::new(*sample, 0.0)));
            room.resize(size, zero);
            forward.process_with_scratch(room, &mut self.beside);
        }
        for (index, (value, other)) in self.long.iter_mut().zip(&self.short).enumerate() {
            // Only the positive frequencies are kept; the scale below doubles them.
            *value = if index > 0 && index < size / 2 { *value * other.conj() } else { zero };
        }
        inverse.process_with_scratch(&mut self.long, &mut self.beside);
        let scale = 2.0 / size as f32;
        self.envelope.clear();
        self.envelope.extend(self.long[..=within.len() - wanted.len()].iter().map(|value| value.norm() * scale));
        Some(())
    }
}

fn found(envelope: &[f32], peak: usize, wanted: &[f32], within: &[f32]) -> Option<CorrelationPeak> {
    let power = |sound: &[f32]| sound.iter().map(|sample| f64::from(*sample).powi(2)).sum::<f64>();
    let energy = power(wanted) * power(&within[peak..peak + wanted.len()]);
    let likeness = if energy > 0.0 { (f64::from(envelope[peak]) / energy.sqrt()).min(1.0) } else { 0.0 };
    let at = peak as f64 + between(envelope, peak);
    Some(CorrelationPeak { at, likeness })
}

/// The top of the parabola through a peak and its two neighbours, -0.5 to 0.5 from the peak.
fn between(envelope: &[f32], peak: usize) -> f64 {
    if peak == 0 || peak + 1 >= envelope.len() {
        return 0.0;
    }
    let [left, top, right] = [peak - 1, peak, peak + 1].map(|index| f64::from(envelope[index]));
    let bend = left - 2.0 * top + right;
    if bend < 0.0 { (0.5 * (left - right) / bend).clamp(-0.5, 0.5) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sweep of 60 ms at 48 kHz, begun `late` of a sample late.
    fn sweep(late: f64) -> Vec<f32> {
        (0..2880)
            .map(|n| {
                let t = (f64::from(n) - late) / 48_000.0;
                let edge = (std::f64::consts::PI * t / 0.06).sin().powi(2);
                (0.25 * edge * (std::f64::consts::TAU * (600.0 * t + 30_000.0 * t * t)).sin()) as f32
            })
            .collect()
    }

    fn placed(at: usize, level: f32, late: f64) -> Vec<f32> {
        let mut within = vec![0.0f32; 20_000];
        for (slot, sample) in within[at..].iter_mut().zip(sweep(late)) {
            *slot += level * sample;
        }
        within
    }

    #[test]
    fn a_sound_is_found_at_its_sample_and_between_samples_at_any_level_and_polarity() {
        for (at, level, late) in [(0, 1.0, 0.0), (7777, 0.01, 0.3), (12_345, -0.5, 0.75)] {
            let found = SoundFinder::default().find(&sweep(0.0), &placed(at, level, late)).unwrap();
            assert!((found.at - at as f64 - late).abs() < 0.05, "{found:?}");
            assert!(found.likeness > 0.99, "{found:?}");
        }
    }

    #[test]
    fn the_direct_sound_is_found_before_a_stronger_reflection() {
        let mut within = placed(5000, 0.5, 0.0);
        for (slot, reflected) in within.iter_mut().zip(placed(5500, 0.7, 0.0)) {
            *slot += reflected;
        }
        assert!((SoundFinder::default().find_first(&sweep(0.0), &within, 0.5).unwrap().at - 5000.0).abs() < 1.0);
        assert!((SoundFinder::default().find(&sweep(0.0), &within).unwrap().at - 5500.0).abs() < 1.0);
    }

    #[test]
    fn silence_and_sounds_too_short_hold_nothing() {
        assert_eq!(SoundFinder::default().find(&sweep(0.0), &[0.0; 9000]), None);
        assert_eq!(SoundFinder::default().find(&sweep(0.0), &[0.5; 100]), None);
        assert_eq!(SoundFinder::default().find(&[], &[0.5; 100]), None);
    }
}
