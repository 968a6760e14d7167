use std::collections::VecDeque;

use realfft::RealFftPlanner;
use realfft::num_complex::Complex;

use crate::units::{SampleRate, Seconds, median};

/// Least length of sound in which a cue is looked for; and the longest delay that is looked for. Earlier than `LEAD` it cannot come.
const LEAST: Seconds = Seconds(0.7);
const FARTHEST: Seconds = Seconds(0.45);
/// Every bin counts by its power to this: between 0, where a few loud partials decide and a tone is like itself a period on, and 1, where all bins
/// count alike, the silent ones too.
const WHITENED: f32 = 0.8;
/// Frequencies that a small loudspeaker and its microphone carry, Hz.
const CARRIED_HZ: (f64, f64) = (150.0, 6000.0);
/// The likeness at the place that is found is at least this many times that anywhere else, further away than `BESIDE`.
const BETTER: f32 = 2.0;
const BESIDE: Seconds = Seconds(0.003);
/// Number of cues in a row that have to agree, and how closely.
const AGREEING: usize = 3;
const SAME: Seconds = Seconds(0.004);
/// A delay is as it was measured where it is this close to that: what `calibrate` lets pass between two openings.
const HELD: Seconds = Seconds(0.008);

/// Whether our cues come back when they should. What a sound server says of its delay may be wrong, and what was calibrated may have changed
/// since; where a cue is heard through a loudspeaker, the cue itself shows it.
#[derive(Debug, Clone, Default)]
pub(super) struct CueReturn {
    /// By how much the newest cues came back later than they should.
    late: VecDeque<Seconds>,
}

impl CueReturn {
    /// Takes in how much later a cue came back than it should; `None` where it did not show it.
    pub fn enter(&mut self, late: Option<Seconds>) {
        let Some(late) = late else { return };
        if self.late.len() == AGREEING {
            self.late.pop_front();
        }
        self.late.push_back(late);
    }

    /// By how much later all cues come back than they should, where the newest agree on it; given once.
    pub fn moved(&mut self) -> Option<Seconds> {
        let late: Vec<f64> = self.late.iter().map(|it| it.0).collect();
        let middle = median(&late).filter(|_| late.len() == AGREEING)?;
        if middle.abs() <= HELD.0 || late.iter().any(|it| (it - middle).abs() > SAME.0) {
            return None;
        }
        self.late.clear();
        Some(Seconds(middle))
    }

    /// What was found so far does not hold any more.
    pub fn forget(&mut self) {
        self.late.clear();
    }
}

/// By how much later than `sounded` the same sound is found in `heard`, which begins `lead` samples earlier; `None` where it is not clear.
/// The two are compared at every delay, bin by bin (generalised correlation with a phase transform: Knapp and Carter, IEEE Trans. ASSP
/// 24, 1976), for an unweighted one takes a tone for itself a period on, and a reflection for the direct sound.
pub(super) fn comes_back(sounded: &[f32], heard: &[f32], lead: usize, rate: SampleRate) -> Option<Seconds> {
    let farthest = lead + rate.samples(FARTHEST);
    if sounded.len() < rate.samples(LEAST) {
        return None;
    }
    let size = (heard.len().max(sounded.len()) + farthest).next_power_of_two();
    let mut planner = RealFftPlanner::<f32>::new();
    let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let spectrum = |of: &[f32]| {
        let mut wave = of.to_vec();
        wave.resize(size, 0.0);
        let mut bins = forward.make_output_vec();
        forward.process(&mut wave, &mut bins).ok().map(|()| bins)
    };
    let (mut both, sent) = (spectrum(heard)?, spectrum(sounded)?);
    let bin_hz = rate.per_second() / size as f64;
    for (k, (bin, sent)) in both.iter_mut().zip(sent).enumerate() {
        let carried = (CARRIED_HZ.0..CARRIED_HZ.1).contains(&(k as f64 * bin_hz));
        *bin *= sent.conj();
        *bin = if carried { *bin / bin.norm().powf(WHITENED).max(f32::MIN_POSITIVE) } else { Complex::default() };
    }
    let mut likeness = inverse.make_output_vec();
    inverse.process(&mut both, &mut likeness).ok()?;
    likeness.truncate(farthest);
    let most = |from: usize, to: usize| {
        let part = likeness.get(from..to)?.iter().copied().enumerate();
        part.max_by(|one, other| one.1.total_cmp(&other.1)).map(|(at, like)| (from + at, like))
    };
    let (at, like) = most(0, farthest)?;
    let beside = rate.samples(BESIDE);
    let others = [most(0, at.saturating_sub(beside)), most((at + beside).min(farthest), farthest)];
    let rival = others.iter().flatten().map(|it| it.1).fold(0.0, f32::max);
    (like > BETTER * rival && like > 0.0).then(|| Seconds((at as f64 - lead as f64) / rate.per_second()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(late_ms: &[Option<f64>]) -> Option<f64> {
        let mut returned = CueReturn::default();
        late_ms.iter().for_each(|ms| returned.enter(ms.map(|ms| Seconds(ms / 1000.0))));
        returned.moved().map(|it| it.ms())
    }

    #[test]
    fn three_cues_have_to_agree_and_one_that_shows_nothing_does_not_count() {
        assert_eq!(after(&[Some(21.0), Some(21.0)]), None);
        assert_eq!(after(&[Some(21.0), None, Some(22.0), Some(20.0)]), Some(21.0));
        assert_eq!(after(&[Some(21.0), Some(60.0), Some(20.0)]), None);
        assert_eq!(after(&[Some(90.0), Some(-20.0), Some(-21.0), Some(-20.0)]), Some(-20.0));
        assert_eq!(after(&[Some(7.0); 5]), None, "as it was calibrated");
    }

    #[test]
    fn what_is_said_once_is_not_said_again() {
        let mut returned = CueReturn::default();
        [Some(Seconds(0.02)); 3].into_iter().for_each(|late| returned.enter(late));
        assert_eq!(returned.moved(), Some(Seconds(0.02)));
        assert_eq!(returned.moved(), None);
    }
}
