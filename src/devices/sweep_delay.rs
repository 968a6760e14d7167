//! How long sound takes from the loudspeaker to the microphone beyond what the clock lines know.
//!
//! Eight sweeps at uneven distances are played and looked for in what comes back; each gives one delay. Their median is kept,
//! per pair of devices and buffer size, and their spread is reported.
//!
//! On a busy machine all sound of one opening of the devices may be moved as a whole, and then its sweeps agree on a wrong delay. So
//! the devices are opened anew for three sweeps more ([`CHECK`]), and a delay is kept on which two openings agree ([`agreed`]).

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

/// When the sweeps begin that check the delay in another opening of the devices.
pub const CHECK: [Seconds; 3] = [SWEEPS[0], SWEEPS[1], SWEEPS[2]];

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
/// Least number of eight sweeps that have to agree; of others the same share.
const ENOUGH: usize = 5;
/// Two openings of the devices agree where their delays lie this close.
const SAME: Seconds = Seconds(0.008);

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

/// What one opening of the devices shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// The delay beyond what the clock lines and the backend's reports say.
    pub delay: Delay,
    /// The delay from callback to sound, by those reports.
    pub ahead: Seconds,
}

/// Sweeps to be played, which begin at `starts`, the last one last.
#[must_use]
pub fn sweeps(rate: SampleRate, starts: &[Seconds]) -> Clip {
    let last = starts.last().copied().unwrap_or_default();
    let mut clip = Clip::silence(rate, last + LENGTH + Seconds(0.1));
    for start in starts {
        clip.mix(rate.samples(*start), &sweep(rate));
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

/// The delay on which two openings agree, of the one with the most sweeps. They agree on the whole way from callback to microphone:
/// then the delay counts from that opening's `ahead`, which is to be held. Where no two of three do, two may agree on what the reports
/// leave of it: then the buffer changes from one opening to the next, and the reports are to be followed.
#[must_use]
pub fn agreed(openings: &[Opening]) -> Option<(Delay, Option<Seconds>)> {
    let whole = |it: &Opening| it.delay.median + it.ahead;
    let rest = |it: &Opening| it.delay.median;
    let best = |of: &dyn Fn(&Opening) -> Seconds| {
        let same = |one: &Opening, other: &Opening| (of(one) - of(other)).0.abs() <= SAME.0;
        let backed = openings.iter().filter(|one| openings.iter().filter(|other| same(one, other)).count() > 1);
        backed.max_by_key(|it| it.delay.agreed).copied()
    };
    let held = best(&whole).map(|it| (it.delay, Some(it.ahead)));
    held.or_else(|| best(&rest).filter(|_| openings.len() > 2).map(|it| (it.delay, None)))
}

/// Settles on one delay out of those of the sweeps, of which so many were played.
///
/// # Errors
/// Where fewer than five of eight were recognised, or lie within 10 ms of the median.
pub fn settle(delays: &[Seconds], played: usize) -> Result<Delay, DelayError> {
    let enough = (ENOUGH * played).div_ceil(SWEEPS.len());
    let bare: Vec<f64> = delays.iter().map(|delay| delay.0).collect();
    let unheard = DelayError::Unheard { heard: bare.len() };
    let centre = median(&bare).filter(|_| bare.len() >= enough).ok_or(unheard)?;
    let near: Vec<f64> = bare.iter().copied().filter(|delay| (delay - centre).abs() <= ACCIDENT.0).collect();
    if near.len() < enough {
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
            let reported = settle(&delays(&heard, Seconds(0.0), &SWEEPS), 8).unwrap();
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
        looped.mix(960, &sweeps(rate, &SWEEPS).samples);
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
        assert_eq!(settle(&[], 8), Err(DelayError::Unheard { heard: 0 }));
    }

    #[test]
    fn one_accident_in_eight_is_left_out_and_a_wandering_delay_is_refused() {
        let mut delays = [0.0201, 0.0199, 0.02, 0.0202, 0.0198, 0.02, 0.02, 0.3].map(Seconds);
        let reported = settle(&delays, 8).unwrap();
        assert!((reported.median.0 - 0.02).abs() < 1e-4 && reported.agreed == 7);
        for (index, delay) in delays.iter_mut().enumerate() {
            *delay = Seconds(0.1 + 0.03 * index as f64);
        }
        assert!(matches!(settle(&delays, 8), Err(DelayError::Wanders { .. })));
    }

    /// An opening in which so many sweeps agreed, with the delay from callback to sound that was reported.
    fn opening(agreed: usize, delay_ms: f64, ahead_ms: f64) -> Opening {
        let delay = Delay { median: Seconds(delay_ms / 1000.0), spread: Seconds(0.0), agreed };
        Opening { delay, ahead: Seconds(ahead_ms / 1000.0) }
    }

    #[test]
    fn two_openings_of_one_way_are_believed_though_the_reports_differ() {
        let (first, second) = (opening(8, -9.0, 30.0), opening(3, 8.0, 14.0));
        assert_eq!(agreed(&[first, second]), Some((first.delay, Some(first.ahead))));
    }

    #[test]
    fn where_the_buffer_differs_and_the_reports_know_it_the_reports_are_followed() {
        let (first, second, third) = (opening(8, 5.0, 21.0), opening(3, 6.0, 64.0), opening(7, 6.0, 85.0));
        assert_eq!(agreed(&[first, second]), None);
        assert_eq!(agreed(&[first, second, third]), Some((first.delay, None)));
    }

    #[test]
    fn an_opening_that_was_moved_as_a_whole_is_outvoted_by_two_others() {
        let (second, third) = (opening(3, 1.0, 20.0), opening(8, 0.0, 21.0));
        for moved_ms in [-48.0, -16.0, 20.0, 80.0] {
            let first = opening(8, moved_ms, 21.0);
            assert_eq!(agreed(&[first, second]), None, "{moved_ms}");
            assert_eq!(agreed(&[first, second, third]), Some((third.delay, Some(third.ahead))), "{moved_ms}");
        }
        let (first, moved) = (opening(7, 0.5, 21.0), opening(3, 90.0, 21.0));
        assert_eq!(agreed(&[first, moved, third]), Some((third.delay, Some(third.ahead))));
    }

    #[test]
    fn three_openings_with_three_delays_give_none_nor_does_one_alone() {
        assert_eq!(agreed(&[opening(8, 0.0, 21.0), opening(3, 50.0, 21.0), opening(8, -20.0, 21.0)]), None);
        assert_eq!(agreed(&[opening(8, 0.0, 21.0)]), None);
    }

    #[test]
    fn of_three_sweeps_two_have_to_agree() {
        assert_eq!(settle(&[Seconds(0.02), Seconds(0.3), Seconds(0.021)], 3).unwrap().agreed, 2);
        assert!(settle(&[Seconds(0.02)], 3).is_err());
    }
}
