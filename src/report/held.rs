use std::collections::VecDeque;

use crate::notes::{Frame, HeardNote, Told};
use crate::units::{Cents, Hertz, Midi, Seconds, median, spread};

/// A held tone is at least this long.
const HELD: Seconds = Seconds(2.0);
/// Attack and release say nothing of the pitch that was meant.
const EDGE: Seconds = Seconds(0.15);
/// Further from the note than this a frame is a slip of the tracker.
const NEAR: Cents = Cents(200.0);
/// The path is looked at a hundred times a second.
const STEP_S: f64 = 0.01;
/// What moves slower than this is drift, not vibrato: two turns of the slowest.
const SLOW_STEPS: usize = 50;
/// Turns of a vibrato a second; singers and players lie between 4 and 8 (Sundberg 1987, from memory).
const VIBRATO_HZ: (f64, f64) = (3.0, 9.0);
/// A vibrato repeats itself at least so well, and moves so far; all else is unrest.
const REPEATS: f64 = 0.5;
const NEARLY: f64 = 0.85;
const FELT: Cents = Cents(4.0);

/// A tone held for two seconds or more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldTone {
    /// How long it sounded.
    pub length: Seconds,
    /// Median of its pitch, attack and release left out.
    pub centre: Midi,
    /// How far the pitch moved from beginning to end: the median slope between all pairs of half seconds (Theil 1950,
    /// Sen 1968), times the length.
    pub drift: Cents,
    /// Median absolute deviation from the centre.
    pub spread: Cents,
    /// Its vibrato, where it has one.
    pub vibrato: Option<Vibrato>,
}

/// A pitch that swings evenly about its centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vibrato {
    /// Turns a second.
    pub rate: Hertz,
    /// How far to either side.
    pub extent: Cents,
}

/// Follows the pitch of the note that sounds and keeps what is held.
#[derive(Debug, Clone, Default)]
pub struct Holding {
    path: VecDeque<(Seconds, Midi)>,
    sounding: Option<HeardNote>,
    held: Vec<HeldTone>,
}

impl Holding {
    /// Takes a frame in; `a4` is the reference of the ear.
    pub fn frame(&mut self, frame: &Frame, a4: Hertz) {
        // A note is told a little after it began.
        let since = self.sounding.map_or(frame.at - Seconds(1.0), |note| note.onset);
        while self.path.front().is_some_and(|(at, _)| *at < since) {
            self.path.pop_front();
        }
        self.path.extend(frame.pitch.map(|pitch| (frame.at, pitch.midi(a4))));
    }

    /// Takes in what was told of a note.
    pub fn note(&mut self, told: &Told) {
        match told {
            Told::Began(note) | Told::Mended(note) => self.sounding = Some(*note),
            Told::Ended(note) => {
                self.sounding = None;
                self.held.extend(held(note, &self.path));
            }
        }
    }

    /// The tones that were held, in the order they were played.
    #[must_use]
    pub fn held(&self) -> &[HeldTone] {
        &self.held
    }
}

fn held(note: &HeardNote, path: &VecDeque<(Seconds, Midi)>) -> Option<HeldTone> {
    if note.length() < HELD {
        return None;
    }
    let (from, until) = (note.onset + EDGE, note.release - EDGE);
    let inside =
        path.iter().filter(|(at, pitch)| (from..=until).contains(at) && pitch.cents_above(note.pitch).abs() < NEAR);
    let path: Vec<(f64, f64)> = inside.map(|(at, pitch)| ((*at - from).0, pitch.cents_above(note.pitch).0)).collect();
    let cents: Vec<f64> = path.iter().map(|(_, cents)| *cents).collect();
    let even = evenly(&path);
    Some(HeldTone {
        length: note.length(),
        centre: Midi(note.pitch.0 + median(&cents)? / 100.0),
        drift: Cents(slope(&even) * note.length().0),
        spread: Cents(spread(&cents)?),
        vibrato: vibrato(&even),
    })
}

/// The path at even steps, by straight lines between its points.
fn evenly(path: &[(f64, f64)]) -> Vec<f64> {
    let mut even = Vec::new();
    for pair in path.windows(2) {
        let ((t0, c0), (t1, c1)) = (pair[0], pair[1]);
        while (even.len() as f64) * STEP_S <= t1 {
            let t = even.len() as f64 * STEP_S;
            even.push(if t <= t0 { c0 } else { c0 + (c1 - c0) * (t - t0) / (t1 - t0) });
        }
    }
    even
}

/// Cents a second: the median slope between the middles of all half seconds.
fn slope(even: &[f64]) -> f64 {
    let middles: Vec<f64> = even.chunks_exact(SLOW_STEPS).filter_map(median).collect();
    let apart = SLOW_STEPS as f64 * STEP_S;
    let pairs = middles.iter().enumerate().flat_map(|(n, one)| {
        middles[n + 1..].iter().enumerate().map(move |(m, other)| (other - one) / ((m + 1) as f64 * apart))
    });
    median(&pairs.collect::<Vec<_>>()).unwrap_or(0.0)
}

/// The best repetition of the path in itself between the slowest and the quickest vibrato.
fn vibrato(even: &[f64]) -> Option<Vibrato> {
    let around = |n: usize| &even[n.saturating_sub(SLOW_STEPS / 2)..(n + SLOW_STEPS / 2).min(even.len())];
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let swing: Vec<f64> = (0..even.len()).map(|n| even[n] - mean(around(n))).collect();
    let power = swing.iter().map(|cents| cents * cents).sum::<f64>() / swing.len().max(1) as f64;
    let extent = Cents((2.0 * power).sqrt());
    let alike = |lag: usize| {
        let pairs = swing.iter().zip(swing.get(lag..).unwrap_or_default());
        let (count, sum) = pairs.fold((0, 0.0), |(count, sum), (a, b)| (count + 1, sum + a * b));
        sum / (f64::from(count.max(1)) * power.max(f64::MIN_POSITIVE))
    };
    let lags = (1.0 / (VIBRATO_HZ.1 * STEP_S)) as usize..=(1.0 / (VIBRATO_HZ.0 * STEP_S)) as usize;
    // A peak, not the flank of one: drift that is left over is alike at every short lag. Two turns are as alike as one, so the
    // first that is nearly the best is taken.
    let peaks: Vec<usize> = lags.filter(|&lag| alike(lag) >= alike(lag - 1) && alike(lag) > alike(lag + 1)).collect();
    let top = peaks.iter().map(|lag| alike(*lag)).fold(0.0, f64::max);
    let best = *peaks.iter().find(|lag| alike(**lag) >= NEARLY * top)?;
    if top < REPEATS || extent < FELT {
        return None;
    }
    let (before, here, after) = (alike(best - 1), alike(best), alike(best + 1));
    let beside = 0.5 * (before - after) / (before - 2.0 * here + after);
    let rate = Hertz(1.0 / ((best as f64 + beside) * STEP_S));
    // What the mean over half a second took of the swing itself.
    let turns = std::f64::consts::PI * rate.0 * SLOW_STEPS as f64 * STEP_S;
    Some(Vibrato { rate, extent: Cents(extent.0 / (1.0 - turns.sin() / turns)) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notes::{Ear, EarSettings};
    use crate::units::{A440, SampleRate};

    /// What the ear makes of a tone of A4 whose pitch swings, and rises over the whole.
    fn heard(seconds: f64, rate_hz: f64, extent: f64, rise: f64) -> Vec<HeldTone> {
        let rate = SampleRate::DEVICE;
        let settings = EarSettings { rate, lowest: Hertz(150.0), highest: Hertz(1500.0), a4: A440 };
        let (mut ear, mut holding, mut phase) = (Ear::new(&settings), std::cell::RefCell::new(Holding::default()), 0.0);
        let samples: Vec<f32> = (0..rate.samples(Seconds(seconds + 0.6)))
            .map(|n| {
                let t = n as f64 / rate.per_second();
                let cents = extent * (std::f64::consts::TAU * rate_hz * t).sin() + rise * (t / seconds - 0.5);
                phase += std::f64::consts::TAU * 440.0 * (cents / 1200.0).exp2() / rate.per_second();
                let level = (t / 0.03).min(1.0) * ((seconds - t) / 0.03).clamp(0.0, 1.0);
                (level * (0.2 * phase.sin() + 0.1 * (2.0 * phase).sin() + 0.05 * (3.0 * phase).sin())) as f32
            })
            .collect();
        ear.hear(&samples, &mut |frame| holding.borrow_mut().frame(frame, A440), &mut |told| {
            holding.borrow_mut().note(told);
        });
        holding.get_mut().held().to_vec()
    }

    #[test]
    fn a_tone_held_for_a_minute_tells_its_centre_its_drift_and_its_vibrato() {
        let told = heard(60.0, 5.5, 30.0, 12.0);
        assert_eq!(told.len(), 1, "{told:?}");
        let tone = told[0];
        assert!((tone.centre.0 - 69.0).abs() < 0.02, "{tone:?}");
        assert!((tone.drift.0 - 12.0).abs() < 1.5, "{tone:?}");
        let vibrato = tone.vibrato.expect("it swings");
        assert!((vibrato.rate.0 - 5.5).abs() < 0.1 && (vibrato.extent.0 - 30.0).abs() < 1.5, "{vibrato:?}");
    }

    #[test]
    fn every_usual_vibrato_is_told_by_its_own_rate_and_extent() {
        for quarters in 16..=32 {
            let rate = f64::from(quarters) / 4.0;
            let vibrato = heard(4.0, rate, 40.0, 0.0)[0].vibrato.expect("it swings");
            assert!(
                (vibrato.rate.0 - rate).abs() < 0.1 && (vibrato.extent.0 - 40.0).abs() < 2.0,
                "{rate}: {vibrato:?}"
            );
        }
    }

    #[test]
    fn a_straight_tone_has_no_vibrato_and_a_sagging_one_only_drift() {
        let straight = heard(4.0, 5.5, 0.0, 0.0)[0];
        assert!(straight.vibrato.is_none() && straight.drift.0.abs() < 0.5 && straight.spread.0 < 1.0, "{straight:?}");
        let sagging = heard(8.0, 5.5, 0.0, -20.0)[0];
        assert!(sagging.vibrato.is_none() && (sagging.drift.0 + 20.0).abs() < 1.5, "{sagging:?}");
    }

    #[test]
    fn a_short_note_is_not_held() {
        assert_eq!(heard(1.0, 5.5, 0.0, 0.0), []);
    }
}
