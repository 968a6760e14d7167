use std::collections::VecDeque;

use realfft::RealFftPlanner;

use crate::room::InputIssue;
use crate::room::hum::hum;
use crate::units::{Decibels, Hertz, SampleRate, Seconds, median};

/// Number of levels a second: one every ten milliseconds.
const STEPS_PER_SECOND: usize = 100;
/// Number of levels that are kept: those of the last minute.
const KEPT: usize = 60 * STEPS_PER_SECOND;
/// Playing whose peak stays below this is too soft, dB (common practice: peaks between -18 and -6 dB).
const SOFT: f64 = -30.0;
/// A room above this is noisy, dB (common practice: noise below -50 dB).
const NOISY: f64 = -50.0;
/// A step above this counts as sound, dB, when a gate is looked for.
const SOUND: f64 = -60.0;
/// A pause is softer than the loudest step by this, dB, and a step of playing louder than the room. Until there was a pause,
/// nothing is known of the room.
const PAUSE: f64 = 12.0;
/// Number of steps in a row for which the level must stand still in a pause.
const LEVEL: usize = 40;
/// A level that falls by this, dB, from one half of a pause to the other does not stand still, since the room rings on; nor does
/// one that rises by it.
const FALLS: f64 = 1.5;
/// Least number of steps in which playing stands out of the room.
const PLAYED: usize = 20;
/// Largest relative error of the measured power of the hum.
const HUM_ERROR: f64 = 0.05;
/// No microphone in a room is as quiet as this, dB.
const UNNATURAL: f64 = -95.0;

/// What the levels say so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundLevels {
    /// The highest sample so far.
    pub peak: Decibels,
    /// Median level of the quietest tenth of the steps of the last minute, or the level of the quietest second so far that is not all
    /// zeros, whichever is lower: a player who plays on and on was silent once.
    pub floor: Decibels,
    /// Mean level of the last ten milliseconds.
    pub now: Decibels,
}

/// Listens to the raw input and says what spoils it.
#[derive(Debug, Clone)]
pub struct SoundCheck {
    /// Samples a second of the input.
    rate: SampleRate,
    /// Mean levels of the steps of 10 ms, dB, the newest last; at most a minute.
    levels: VecDeque<f64>,
    /// Samples of the step that is being filled.
    step: Vec<f32>,
    /// Samples of the second that is being filled.
    second: Vec<f32>,
    /// Samples of the quietest second so far.
    quietest: Vec<f32>,
    /// Sum of squares of the quietest second.
    quietest_power: f64,
    /// Softest level that stood still within the quietest second, dB.
    quietest_still: Option<f64>,
    /// Size of the largest sample so far.
    peak: f32,
    /// Number of samples at full scale.
    full: u64,
    /// Number of exact zeros before the first other sample.
    zeros: u64,
    /// Whether nothing but exact zeros came so far.
    nothing_but_zeros: bool,
}

impl SoundCheck {
    /// A check of an input of `rate`.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        Self {
            rate,
            levels: VecDeque::with_capacity(KEPT),
            step: Vec::new(),
            second: Vec::new(),
            quietest: Vec::new(),
            quietest_power: f64::INFINITY,
            quietest_still: None,
            peak: 0.0,
            full: 0,
            zeros: 0,
            nothing_but_zeros: true,
        }
    }

    /// Hears the next block, of any length.
    pub fn hear(&mut self, block: &[f32]) {
        let step = (self.rate.hz() as usize / STEPS_PER_SECOND).max(1);
        for sample in block {
            let size = sample.abs();
            self.peak = self.peak.max(size);
            self.full += u64::from(size >= 0.999);
            self.nothing_but_zeros &= size == 0.0;
            self.zeros += u64::from(self.nothing_but_zeros);
            self.step.push(*sample);
            if self.step.len() == step {
                self.close_step();
            }
        }
    }

    fn close_step(&mut self) {
        let power: f64 = self.step.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / self.step.len() as f64;
        if self.levels.len() == KEPT {
            self.levels.pop_front();
        }
        self.levels.push_back(Decibels::of_power(power).0);
        self.second.append(&mut self.step);
        if self.second.len() >= self.rate.hz() as usize {
            let power: f64 = self.second.iter().map(|s| f64::from(*s).powi(2)).sum();
            if power > 0.0 && power < self.quietest_power {
                self.quietest_power = power;
                let levels: Vec<f64> = self.levels.iter().rev().take(STEPS_PER_SECOND).copied().collect();
                self.quietest_still = levels.windows(LEVEL).step_by(LEVEL / 4).filter_map(still).reduce(f64::min);
                std::mem::swap(&mut self.quietest, &mut self.second);
            }
            self.second.clear();
        }
    }

    /// Levels so far.
    #[must_use]
    pub fn levels(&self) -> SoundLevels {
        let mut sorted: Vec<f64> = self.levels.iter().copied().collect();
        sorted.sort_by(f64::total_cmp);
        let tenth = median(&sorted[..sorted.len().div_ceil(10)]).unwrap_or(-200.0);
        let second = Decibels::of_power(self.quietest_power / self.rate.per_second()).0;
        let floor = if self.quietest.is_empty() { tenth } else { tenth.min(second) };
        SoundLevels {
            peak: Decibels::of_amplitude(f64::from(self.peak)),
            floor: Decibels(floor),
            now: Decibels(self.levels.back().copied().unwrap_or(-200.0)),
        }
    }

    /// Whether there was a pause in what was heard: without one nothing is known of the room. A room that rings on between
    /// notes has not fallen silent.
    #[must_use]
    pub fn paused(&self) -> bool {
        let loudest = self.levels.iter().copied().fold(-200.0, f64::max);
        self.still_at().is_some_and(|still| still < loudest - PAUSE)
    }

    /// The softest level that stood still for [`LEVEL`] steps, in the last minute or in the quietest second; `None` where none did.
    fn still_at(&self) -> Option<f64> {
        let levels: Vec<f64> = self.levels.iter().copied().collect();
        let still = levels.windows(LEVEL).step_by(LEVEL / 4).filter_map(still);
        still.chain(self.quietest_still).min_by(f64::total_cmp)
    }

    /// Whether something was played, as far as levels tell: [`PLAYED`] steps or more stood out of the room.
    fn played(&self, floor: Decibels) -> bool {
        self.levels.iter().filter(|level| **level > floor.0 + PAUSE).count() >= PLAYED
    }

    /// What spoils the sound, the worst first; empty when all is well. More is known after some seconds of silence and some
    /// of playing.
    #[must_use]
    pub fn issues(&self) -> Vec<InputIssue> {
        if self.nothing_but_zeros {
            let lasting = self.rate.seconds(self.zeros as usize);
            return if lasting.0 >= 2.0 { vec![InputIssue::Zeros { lasting }] } else { Vec::new() };
        }
        let levels = self.levels();
        let mut issues = Vec::new();
        if self.full >= 3 {
            issues.push(InputIssue::Clipping { samples: self.full });
        }
        issues.extend(self.gate().map(|between| InputIssue::Gate { between }));
        issues.extend(self.gain_control().map(|rise| InputIssue::GainControl { rise }));
        issues.extend(self.narrow().filter(|_| self.paused()).map(|above| InputIssue::Wireless { above }));
        let hum = hum(&self.quietest, self.rate).filter(|(_, level)| level.0 > -75.0);
        let floor = self.without(hum).unwrap_or(levels.floor);
        if floor.0 > NOISY && self.paused() {
            issues.push(InputIssue::Noisy { floor });
        }
        issues.extend(hum.map(|(mains, level)| InputIssue::Hum { mains, level }));
        if self.levels.len() > 2 * STEPS_PER_SECOND && levels.peak.0 < SOFT && self.played(levels.floor) {
            issues.push(InputIssue::TooSoft { peak: levels.peak });
        }
        issues
    }

    /// Level of the quietest second without its hum, so that hum is not reported as noise too; next to nothing where the rest may
    /// be an error of measurement. `None` where there is no hum.
    fn without(&self, hum: Option<(Hertz, Decibels)>) -> Option<Decibels> {
        let all = self.quietest_power / self.rate.per_second();
        let rest = all - hum?.1.amplitude().powi(2);
        Some(Decibels::of_power(if rest > HUM_ERROR * all { rest } else { 0.0 }))
    }

    /// The median of the levels lower than any room has, where they are more than an eighth of all and something sounded besides.
    fn gate(&self) -> Option<Decibels> {
        let sounded = self.levels.iter().any(|level| *level > SOUND);
        let between: Vec<f64> = self.levels.iter().copied().filter(|level| *level < UNNATURAL).collect();
        let often = between.len() * 8 > self.levels.len();
        median(&between).filter(|_| sounded && often).map(Decibels)
    }

    /// By how much the noise rises within pauses of 2.2 s after loud sound, their median; `None` unless it rises by more than 5 dB at least
    /// twice, and in most such pauses of the last minute.
    fn gain_control(&self) -> Option<Decibels> {
        let levels: Vec<f64> = self.levels.iter().copied().collect();
        let mean = |from: usize, to: usize| median(&levels[from..to]).unwrap_or(-200.0);
        let mut rises = Vec::new();
        let mut loud_until = None;
        for (index, level) in levels.iter().enumerate() {
            if *level > SOFT - 5.0 {
                loud_until = Some(index);
            }
            if loud_until.is_some_and(|until| index == until + 220) {
                let until = index - 220;
                // The room has died away by .5 s; what rises later is the gain.
                rises.push(mean(until + 170, until + 215) - mean(until + 50, until + 90));
                loud_until = None;
            }
        }
        let rising = rises.iter().filter(|rise| **rise > 5.0).count();
        (rising >= 2 && 2 * rising > rises.len()).then(|| Decibels(median(&rises).unwrap_or(0.0)))
    }

    /// The frequency above which the quietest second has no sound at all, where that is the band of a headset's microphone.
    fn narrow(&self) -> Option<Hertz> {
        // Number of samples of a spectrum, for bins of about 12 Hz.
        const SIZE: usize = 4096;
        if self.rate.hz() < 32_000 || self.quietest.len() < SIZE {
            return None;
        }
        let plan = RealFftPlanner::<f32>::new().plan_fft_forward(SIZE);
        let mut powers = vec![0.0f64; SIZE / 2 + 1];
        for part in self.quietest.chunks_exact(SIZE) {
            let window = |index: usize| 0.5 - 0.5 * (std::f32::consts::TAU * index as f32 / SIZE as f32).cos();
            let mut part: Vec<f32> = part.iter().enumerate().map(|(index, s)| s * window(index)).collect();
            let mut spectrum = plan.make_output_vec();
            let _ = plan.process(&mut part, &mut spectrum);
            powers.iter_mut().zip(&spectrum).for_each(|(sum, bin)| *sum += f64::from(bin.norm_sqr()));
        }
        let bin = |hz: f64| (hz * SIZE as f64 / self.rate.per_second()) as usize;
        let mean = |low: f64, high: f64| {
            let part = &powers[bin(low)..bin(high)];
            Decibels::of_power(part.iter().sum::<f64>() / part.len() as f64).0
        };
        let within = mean(500.0, 3000.0);
        let empty = |low: f64, high: f64| mean(low, high) < within - 50.0;
        match (empty(4600.0, 7500.0), empty(9000.0, 14_000.0)) {
            (true, true) => Some(Hertz(4000.0)),
            (false, true) => Some(Hertz(8000.0)),
            _ => None,
        }
    }

    /// How long the check has listened, at most a minute.
    #[must_use]
    pub fn listened(&self) -> Seconds {
        Seconds(self.levels.len() as f64 / STEPS_PER_SECOND as f64)
    }
}

/// The level of a stretch, dB; `None` where one half of it is louder than the other by [`FALLS`] or more.
fn still(levels: &[f64]) -> Option<f64> {
    let (before, after) = levels.split_at(levels.len() / 2);
    let (before, after) = (median(before)?, median(after)?);
    ((before - after).abs() < FALLS).then_some(0.5 * (before + after))
}

#[cfg(test)]
#[path = "sound_check_tests.rs"]
mod tests;
