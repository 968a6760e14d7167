//! How long sound takes from the loudspeaker to the microphone beyond what the clock lines know.
//!
//! Eight sweeps at uneven distances are played and looked for in what comes back; each gives one delay. Their median is kept,
//! per pair of devices and buffer size, and their spread is reported.

use crate::room::DelayError;
use crate::sound::{Clip, SoundFinder};
use crate::units::{SampleRate, Seconds, median, spread};

use super::monitor::comes_back_dry;

/// When each sweep begins in the clip. The distances are uneven, and longer than any delay that is looked for, so that no sweep is
/// taken for another.
pub const SWEEPS: [Seconds; 8] = [
    Seconds(0.2),
    Seconds(0.83),
    Seconds(1.41),
    Seconds(2.07),
    Seconds(2.62),
    Seconds(3.31),
    Seconds(3.88),
    Seconds(4.5),
];

/// Length of one sweep.
const LENGTH: Seconds = Seconds(0.06);
/// Frequencies between which a sweep rises: every small loudspeaker and microphone carries them.
const SWEPT_HZ: (f64, f64) = (600.0, 4800.0);
/// Peak of a sweep, full scale at 1 (-12 dBFS): clear above a room, and not loud.
const PEAK: f64 = 0.25;
/// A sweep is looked for this long before and after its place by the clock lines.
const SEARCH: (Seconds, Seconds) = (Seconds(0.05), Seconds(0.45));
/// Least correlation by which a sweep is recognised: a sweep's product of time and bandwidth, about 250, keeps noise below about .25.
const ALIKE: f64 = 0.35;
/// The direct sound has at least this share of the strongest reflection.
const DIRECT: f32 = 0.5;
/// A delay further than this from the median is an accident, and is left out.
const ACCIDENT: Seconds = Seconds(0.01);
/// How much silence after a sweep is looked at for a room that rings; the next sweep is further away.
const STILL: Seconds = Seconds(0.2);
/// A sweep whose delay is known is looked for this close to its place.
const NEAR: Seconds = Seconds(0.01);
/// Least number of the eight sweeps that have to agree.
const ENOUGH: usize = 5;

/// A measured delay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Delay {
    /// Median of the delays; it is taken off every onset that is compared with a cue.
    pub median: Seconds,
    /// Median absolute deviation of the single delays from their median.
    pub spread: Seconds,
    /// Number of the eight sweeps whose delays agreed.
    pub agreed: usize,
}

/// The eight sweeps, to be played.
#[must_use]
pub fn sweeps(rate: SampleRate) -> Clip {
    let mut clip = Clip::silence(rate, SWEEPS[SWEEPS.len() - 1] + LENGTH + Seconds(0.1));
    for start in SWEEPS {
        clip.mix(rate.samples(start), &sweep(rate));
    }
    clip
}

/// One sweep: `sin 2π(f₀t + (f₁-f₀)t²/2T)`, whose amplitude rises and falls as a raised cosine.
fn sweep(rate: SampleRate) -> Vec<f32> {
    let top_hz = SWEPT_HZ.1.min(0.4 * rate.per_second());
    let bend = (top_hz - SWEPT_HZ.0) / (2.0 * LENGTH.0);
    (0..rate.samples(LENGTH))
        .map(|index| {
            let t = index as f64 / rate.per_second();
            let edge = (std::f64::consts::PI * t / LENGTH.0).sin().powi(2);
            (PEAK * edge * (std::f64::consts::TAU * (SWEPT_HZ.0 * t + bend * t * t)).sin()) as f32
        })
        .collect()
}

/// The delay of each sweep that was recognised. `captured` begins at instant `began`; `due` are the sweeps' places by the clock
/// lines, on the same clock.
#[must_use]
pub fn delays(captured: &Clip, began: Seconds, due: &[Seconds]) -> Vec<Seconds> {
    let (wanted, mut finder) = (sweep(captured.rate), SoundFinder::default());
    due.iter()
        .filter_map(|due| {
            let from = captured.rate.samples(*due - SEARCH.0 - began);
            let until = (captured.rate.samples(*due + SEARCH.1 - began) + wanted.len()).min(captured.samples.len());
            let found = finder.find_first(&wanted, captured.samples.get(from..until)?, DIRECT)?;
            let at = began + Seconds((from as f64 + found.at) / captured.rate.per_second());
            (found.likeness >= ALIKE).then_some(at - *due)
        })
        .collect()
}

/// Whether most of the sweeps came back without a room, at the median of their `delays`; the rest is as in [`delays`]. On a busy machine
/// some of them come back with a hole, so no single one can say it.
#[must_use]
pub fn come_back_dry(captured: &Clip, began: Seconds, due: &[Seconds], delays: &[Seconds]) -> bool {
    let bare: Vec<f64> = delays.iter().map(|delay| delay.0).collect();
    let Some(delay) = median(&bare) else { return false };
    let (rate, mut finder) = (captured.rate, SoundFinder::default());
    let mut wanted = sweep(rate);
    wanted.resize(wanted.len() + rate.samples(STILL), 0.0);
    let dry = due.iter().filter(|due| {
        let from = rate.samples(**due + Seconds(delay) - NEAR - began);
        let until = from + wanted.len() + 2 * rate.samples(NEAR);
        captured.samples.get(from..until).is_some_and(|heard| comes_back_dry(&mut finder, &wanted, heard))
    });
    dry.count() >= ENOUGH
}

/// Settles on one delay out of those of the sweeps.
///
/// # Errors
/// Where fewer than five were recognised, or lie within 10 ms of the median.
pub fn settle(delays: &[Seconds]) -> Result<Delay, DelayError> {
    let bare: Vec<f64> = delays.iter().map(|delay| delay.0).collect();
    let unheard = DelayError::Unheard { heard: bare.len() };
    let centre = median(&bare).filter(|_| bare.len() >= ENOUGH).ok_or(unheard)?;
    let near: Vec<f64> = bare.iter().copied().filter(|delay| (delay - centre).abs() <= ACCIDENT.0).collect();
    if near.len() < ENOUGH {
        return Err(DelayError::Wanders { spread: Seconds(spread(&bare).unwrap_or(0.0)) });
    }
    let (median, spread) = (median(&near).unwrap_or(centre), spread(&near).unwrap_or(0.0));
    Ok(Delay { median: Seconds(median), spread: Seconds(spread), agreed: near.len() })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What comes back after `delay`, softer, with reflections and a deterministic hiss (Park and Miller 1988).
    fn returned(rate: SampleRate, delay: Seconds, level: f32, hiss: f32) -> Clip {
        let mut heard = Clip::silence(rate, Seconds(6.0));
        let mut seed = 1u64;
        for sample in &mut heard.samples {
            seed = seed * 48_271 % 2_147_483_647;
            *sample = hiss * (seed as f32 / 1_073_741_823.5 - 1.0);
        }
        for (late, share) in [(0.0, 1.0f32), (0.0041, -0.6), (0.0093, 0.5), (0.021, 0.3), (0.044, -0.2)] {
            let scaled: Vec<f32> = sweep(rate).iter().map(|sample| level * share * sample).collect();
            for start in SWEEPS {
                heard.mix(rate.samples(start + delay + Seconds(late)), &scaled);
            }
        }
        heard
    }

    #[test]
    fn a_delay_through_a_room_with_hiss_is_measured_within_a_tenth_of_a_millisecond() {
        for (hz, delay) in [(48_000, 0.021), (44_100, 0.140), (16_000, 0.300), (96_000, -0.010)] {
            let rate = SampleRate::new(hz).unwrap();
            let heard = returned(rate, Seconds(delay), 0.1, 0.01);
            let reported = settle(&delays(&heard, Seconds(0.0), &SWEEPS)).unwrap();
            assert!(
                (reported.median.0 - delay).abs() < 1e-4 && reported.agreed == 8,
                "{hz} Hz, {delay} s: {reported:?}"
            );
            assert!(reported.spread.0 < 1e-4, "{reported:?}");
        }
    }

    #[test]
    fn sweeps_without_a_room_are_the_loudspeaker_itself_though_some_have_holes() {
        let rate = SampleRate::DEVICE;
        let dry = |heard: &Clip| come_back_dry(heard, Seconds(0.0), &SWEEPS, &delays(heard, Seconds(0.0), &SWEEPS));
        let mut looped = Clip::silence(rate, Seconds(6.0));
        looped.mix(960, &sweeps(rate).samples);
        for broken in [7, 2, 5] {
            let middle = rate.samples(SWEEPS[broken] + Seconds(0.05));
            looped.samples[middle..middle + 200].fill(0.0);
            assert!(dry(&looped), "sweep {broken} has a hole");
        }
        assert!(!dry(&returned(rate, Seconds(0.021), 1.0, 0.0)));
        assert!(!dry(&Clip::silence(rate, Seconds(6.0))));
    }

    #[test]
    fn hiss_and_silence_are_not_taken_for_sweeps() {
        for hiss in [0.0, 0.1] {
            let heard = returned(SampleRate::DEVICE, Seconds(0.02), 0.0, hiss);
            assert_eq!(delays(&heard, Seconds(0.0), &SWEEPS), []);
        }
        assert_eq!(settle(&[]), Err(DelayError::Unheard { heard: 0 }));
    }

    #[test]
    fn one_accident_in_eight_is_left_out_and_a_wandering_delay_is_refused() {
        let mut delays = [0.0201, 0.0199, 0.02, 0.0202, 0.0198, 0.02, 0.02, 0.3].map(Seconds);
        let reported = settle(&delays).unwrap();
        assert!((reported.median.0 - 0.02).abs() < 1e-4 && reported.agreed == 7);
        for (index, delay) in delays.iter_mut().enumerate() {
            *delay = Seconds(0.1 + 0.03 * index as f64);
        }
        assert!(matches!(settle(&delays), Err(DelayError::Wanders { .. })));
    }
}
