use std::collections::VecDeque;

use crate::cue::CueSound;
use crate::notes::HeardNote;
use crate::room::envelope::{decay, first_rise, levels};
use crate::room::laid::{Laid, Way};
use crate::room::path::{Path, agreement, estimate};
use crate::room::{Learned, Presence};
use crate::units::{SampleRate, Seconds};

/// How much of the raw input is kept for a cue that is laid late, and for the noise before it.
const KEPT: Seconds = Seconds(2.0);
/// Longest stretch of a cue that the path is estimated from; drifting clocks spoil longer ones.
const STRETCH: Seconds = Seconds(3.0);
/// The path is estimated, and subtracting begins, so long before the end of the cue comes back; a delay over [`AWAITED`] is
/// not waited for, an answer might be lost in it.
const BEFORE_END: Seconds = Seconds(0.012);
const AWAITED: Seconds = Seconds(0.03);
/// Longest part of the path that is subtracted; the rest of a tail is masked by level.
const TAPS: Seconds = Seconds(0.34);
/// Subtracting sets in over this time.
const FADE: Seconds = Seconds(0.008);
/// The tail after a cue is looked at for so long.
const TAIL: Seconds = Seconds(0.6);
/// Fraction of the captured energy that says "this is our cue".
const OURS: f64 = 0.5;
/// And the fraction that says "this is not".
const NOT_OURS: f64 = 0.2;
/// Least share of the cue's sounding time in which something must be captured at all.
const COVERED: f64 = 0.6;
/// Steps in which levels are compared.
const STEP: Seconds = Seconds(0.002);

/// Our own cue in the microphone: learned, subtracted, masked. Streaming and causal; give it every block of the input.
#[derive(Debug, Clone)]
pub struct Echo {
    rate: SampleRate,
    learned: Learned,
    recent: VecDeque<f32>,
    /// Index on the input's clock of the sample after the last one heard.
    heard: i64,
    captured: Vec<f64>,
    laid: Option<Laid>,
    /// Samples from the first of the cue to its end.
    end_at: usize,
    fit_at: usize,
    /// What is subtracted, from `fit_at` on.
    predicted: Vec<f32>,
    noise_db: f64,
    /// The ear's loudness of the echo against the level of the cue's samples.
    ear_gain_db: Option<f64>,
    misses: u32,
    monitor: bool,
}

impl Echo {
    /// Knows nothing yet. `rate` is that of the input.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        Self {
            rate,
            learned: Learned::default(),
            recent: VecDeque::with_capacity(rate.samples(KEPT) + 1),
            heard: 0,
            captured: Vec::new(),
            laid: None,
            end_at: 0,
            fit_at: 0,
            predicted: Vec::new(),
            noise_db: -200.0,
            ear_gain_db: None,
            misses: 0,
            monitor: false,
        }
    }

    /// What was learned so far.
    #[must_use]
    pub const fn learned(&self) -> &Learned {
        &self.learned
    }

    /// The last cue came back as it was, with no room and no noise: the input is the loudspeaker's monitor.
    #[must_use]
    pub const fn is_monitor(&self) -> bool {
        self.monitor
    }

    /// A cue is sounded: `sound` rendered at the input's rate (a cue at another rate is ignored), and the instant of its first
    /// sample on the input's clock. May be told up to two seconds late.
    pub fn cue(&mut self, sound: &CueSound, begins_at: Seconds) {
        if sound.clip.rate != self.rate {
            return;
        }
        if let Some((laid, matched)) = self.laid.as_ref().and_then(|laid| Some((laid, laid.matched_db?))) {
            let gain = matched - laid.loudest_db;
            // Rooms differ from tone to tone; the loud ones decide, and are forgotten slowly.
            self.ear_gain_db = Some(self.ear_gain_db.map_or(gain, |before| gain.max(before - 1.0)));
        }
        let laid = Laid::new(sound, begins_at, self.rate);
        self.predicted.clear();
        self.captured.clear();
        let awaited = self.learned.delay().unwrap_or_default().max(Seconds(0.0)).min(AWAITED);
        self.end_at = self.rate.samples(sound.end);
        self.fit_at = self.rate.samples(sound.end + awaited - BEFORE_END);
        let before: Vec<f64> = self.recent.iter().map(|s| f64::from(*s)).collect();
        let begun = (self.heard - laid.origin).max(0) as usize;
        let lead = before.len().saturating_sub(begun);
        let mut quiet = levels(&before[..lead], self.rate.samples(Seconds(0.01)));
        quiet.sort_by(f64::total_cmp);
        let noise_db = quiet.get(quiet.len() / 4).copied().unwrap_or(-200.0);
        // A player who plays on between cues is not noise.
        self.noise_db = if self.noise_db > -200.0 { noise_db.min(self.noise_db + 3.0) } else { noise_db };
        self.captured.resize(begun.saturating_sub(before.len()), 0.0);
        self.captured.extend_from_slice(&before[lead..]);
        self.laid = Some(laid);
        if self.captured.len() > self.fit_at {
            self.fit();
        }
    }

    /// Takes out of a block what can be foretold of our own cue. `at` is the instant of its first sample; blocks follow each
    /// other, of any length.
    pub fn clean(&mut self, block: &mut [f32], at: Seconds) {
        let first = (at.0 * self.rate.per_second()).round() as i64;
        self.heard = first;
        let kept = self.rate.samples(KEPT);
        let fade = self.rate.samples(FADE) as f32;
        for sample in block.iter_mut() {
            if self.recent.len() == kept {
                self.recent.pop_front();
            }
            self.recent.push_back(*sample);
            self.capture(*sample);
            if let Some(laid) = &self.laid {
                let place = self.heard - laid.origin - self.fit_at as i64;
                let echo = usize::try_from(place).ok().and_then(|place| self.predicted.get(place));
                if let Some(echo) = echo {
                    *sample -= echo * (place as f32 / fade).min(1.0);
                }
            }
            self.heard += 1;
        }
    }

    fn capture(&mut self, sample: f32) {
        let Some(laid) = &self.laid else { return };
        let tail = self.end_at + self.rate.samples(TAIL) + self.delay_samples().max(0) as usize;
        let offset = self.heard - laid.origin;
        if offset < 0 || self.captured.len() > tail {
            return;
        }
        // Lost samples are silence.
        if (self.captured.len() as i64) < offset {
            self.captured.resize(offset as usize, 0.0);
        }
        self.captured.push(f64::from(sample));
        if self.captured.len() == self.fit_at {
            self.fit();
        }
        if self.captured.len() == tail {
            self.learn_tail();
        }
    }

    fn delay_samples(&self) -> i64 {
        self.learned.delay().map_or(0, |delay| (delay.0 * self.rate.per_second()).round() as i64)
    }

    /// Estimates the way from what was captured of the cue so far, learns from it, and foretells the rest.
    fn fit(&mut self) {
        let Some(laid) = &self.laid else { return };
        let from = self.fit_at.saturating_sub(self.rate.samples(STRETCH));
        let captured = &self.captured[from..self.fit_at.min(self.captured.len())];
        let played = &laid.played[from..self.fit_at.min(laid.played.len())];
        let step = self.rate.samples(STEP);
        let came = levels(captured, step);
        let loudest = came.iter().copied().fold(-200.0, f64::max);
        if loudest < self.noise_db + 10.0 || loudest < -90.0 {
            self.missed();
            return;
        }
        let (path, delay) = self.best_path(played, captured);
        if self.coverage(played, captured, delay) < COVERED {
            self.missed();
        } else if path.explained > OURS {
            let echo = path.echo(played, 0, captured.len());
            let energy = |part: &[f64]| part.iter().map(|s| s * s).sum::<f64>().max(1e-20);
            let gain = 10.0 * (energy(&echo) / energy(played)).log10();
            self.misses = 0;
            self.monitor = self.noise_db < -90.0 && gain.abs() < 6.0 && is_copy(played, captured, path.lag);
            self.learned.heard(self.rate.per_second().recip() * delay as f64, gain);
            if self.learned.presence == Presence::Heard {
                let whole = &laid.played;
                let until = whole.len() + path.taps.len() + path.lag.max(0) as usize;
                // The path was estimated on a stretch; counted from its first sample it is the same path.
                let rest = path.echo(whole, self.fit_at, until.max(self.fit_at));
                self.predicted = rest.iter().map(|s| *s as f32).collect();
            }
        } else if path.explained < NOT_OURS {
            self.missed();
        }
    }

    /// The best path among the delays that are likely, and its delay in samples.
    fn best_path(&self, played: &[f64], captured: &[f64]) -> (Path, i64) {
        let step = self.rate.samples(STEP);
        let (margin, taps) = (self.rate.samples(Seconds(0.01)) as i64, self.rate.samples(TAPS));
        let reverberation = self.learned.decay.0.max(0.3) * self.rate.per_second();
        let (low, high) = (-(self.rate.samples(Seconds(0.06)) as i64), self.rate.samples(Seconds(0.5)) as i64);
        let path = |delay: i64, margin: i64| estimate(played, captured, delay - margin, taps, reverberation);
        let risen = first_rise(&levels(captured, step)).zip(first_rise(&levels(played, step)));
        let risen = risen.map(|(came, went)| (came as i64 - went as i64) * step as i64);
        let risen = risen.filter(|delay| (low..high).contains(delay));
        let known = self.learned.delay().map(|_| self.delay_samples());
        if let Some(delay) = risen.filter(|delay| known.is_none_or(|known| (delay - known).abs() < 2 * margin)) {
            let found = path(delay, margin);
            if found.explained > OURS {
                return (found, delay);
            }
        }
        if let Some(delay) = known {
            return (path(delay, margin), delay);
        }
        let best = agreement(played, captured, low..high).into_iter().max_by(|one, two| one.1.total_cmp(&two.1));
        let delay = best.map_or(0, |(lag, _)| lag);
        // In a room the loudest lag comes after the first.
        (path(delay, 3 * margin), delay)
    }

    /// The share of the cue's sounding time in which the microphone gave more than noise: a player who jumps the cue sounds
    /// in a part of it only.
    fn coverage(&self, played: &[f64], captured: &[f64], delay: i64) -> f64 {
        let step = self.rate.samples(STEP);
        let (went, came) = (levels(played, step), levels(captured, step));
        let loudest = went.iter().copied().fold(-200.0, f64::max);
        let shift = delay / step as i64;
        let (mut sounding, mut covered) = (0.0, 0.0);
        for (index, _) in went.iter().enumerate().filter(|(_, level)| **level > loudest - 20.0) {
            let there = usize::try_from(index as i64 + shift).ok().and_then(|place| came.get(place));
            if let Some(level) = there {
                sounding += 1.0;
                covered += if *level > self.noise_db + 6.0 { 1.0 } else { 0.0 };
            }
        }
        if sounding > 0.0 { covered / sounding } else { 0.0 }
    }

    fn missed(&mut self) {
        self.misses += 1;
        self.monitor = false;
        if self.learned.presence != Presence::Heard || self.misses >= 2 {
            self.learned.absent();
        }
    }

    fn learn_tail(&mut self) {
        let end = self.end_at + self.delay_samples().max(0) as usize;
        if self.learned.presence != Presence::Heard || self.predicted.is_empty() || end >= self.captured.len() {
            return;
        }
        let steps = levels(&self.captured[end..], self.rate.samples(Seconds(0.01)));
        // The cue's own fall takes three hundredths of a second.
        if let Some(sixty) = steps.get(3..).and_then(|steps| decay(steps, self.noise_db)) {
            self.learned.sank(sixty * 0.01);
        }
    }

    /// Whether a heard note is the cue's own. Ask at every word about a note: a note that outlasts the cue turns out to be
    /// the player's when it ends.
    pub fn is_cue(&mut self, note: &HeardNote) -> bool {
        if self.learned.presence == Presence::Absent {
            return false;
        }
        let Some(laid) = &mut self.laid else { return false };
        let known = self.learned.presence == Presence::Heard;
        let gain = self.ear_gain_db.unwrap_or(self.learned.gain.0);
        let way = Way {
            delay: self.learned.delay().map(Seconds::get),
            echo_db: known.then_some(laid.loudest_db + gain),
            decay: self.learned.decay.0,
            cleaned: !self.predicted.is_empty(),
            noise_db: self.noise_db,
        };
        laid.is_own(note, &way)
    }
}

/// Sample for sample the same but for level, at one of the lags near `lag`.
fn is_copy(played: &[f64], captured: &[f64], lag: i64) -> bool {
    let lags = lag..lag + 2000;
    agreement(played, captured, lags).into_iter().any(|(_, alike)| alike > 0.98)
}

#[cfg(test)]
#[path = "echo_tests.rs"]
mod tests;
