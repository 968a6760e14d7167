//! Computed sittings with a loudspeaker in a room, cues in it, and a player who is silent, early or prompt; and what a listener takes for
//! the player's notes.

use std::f64::consts::TAU;

use earfirst::outside::cue::{CueSound, Form, Rendering, Timing, sound};
use earfirst::outside::engine::PlayerEar;
use earfirst::outside::notes::{EarSettings, HeardNote};
use earfirst::outside::room::Echo;
use earfirst::outside::sound::{Partials, Placement, SoundBlock, convolve, edge};
use earfirst::outside::units::{A440, Decibels, Hertz, Midi, SampleRate, Seconds};

use crate::asking::cue;

pub const RATE: SampleRate = SampleRate::CD;
/// The number of samples in a block of the input.
const BLOCK: usize = 441;
/// The number of cues of one sitting; the streams are opened anew after the first half.
pub const CUES: usize = 12;
/// The mean level of the player's notes, in dB.
const PLAYER: f64 = -24.0;
/// The level of the noise in the room, in dB.
const NOISE: f64 = -66.0;
/// The number of notes of an answer.
const NOTES: usize = 4;

/// A fixed sequence of numbers evenly spread over 0 to 1 (Knuth's MMIX constants).
pub struct Draw(pub u64);

impl Draw {
    pub fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }
}

/// The room in which loudspeaker and microphone stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Room {
    /// Four paths, at 20, 75, 140 and 230 ms; the last three 7, 12 and 18 dB lower.
    FourPaths,
    /// Direct sound, eight reflections within 25 ms, and noise that falls by 60 dB in this time, in seconds.
    Decay(f64),
    /// Headphones: nothing of the cue comes back.
    Headphones,
}

impl Room {
    pub const LOUDSPEAKER: [Self; 4] = [Self::FourPaths, Self::Decay(0.2), Self::Decay(0.4), Self::Decay(0.7)];

    /// The impulse response of the room.
    pub fn response(self, draw: &mut Draw) -> Vec<f32> {
        let at = |seconds: f64| RATE.samples(Seconds(seconds));
        match self {
            Self::Headphones => vec![0.0],
            Self::FourPaths => {
                let mut taps = vec![0.0f32; at(0.24)];
                for (delay, db) in [(0.020, 0.0), (0.075, -7.0), (0.140, -12.0), (0.230, -18.0)] {
                    taps[at(delay)] = Decibels(db).amplitude() as f32;
                }
                taps
            }
            Self::Decay(reverberation) => {
                let mut taps = vec![0.0f64; at(reverberation)];
                for (index, tap) in taps.iter_mut().enumerate().skip(at(0.012)) {
                    let past = index as f64 / RATE.per_second();
                    *tap = draw.between(-1.0, 1.0) * 10f64.powf(-3.0 * past / reverberation);
                }
                // Direct over reverberant sound: a small loudspeaker half a metre to two metres off.
                let energy: f64 = taps.iter().map(|tap| tap * tap).sum();
                let ratio: f64 = if reverberation < 0.3 {
                    6.0
                } else if reverberation < 0.5 {
                    3.0
                } else {
                    0.0
                };
                let scale = 10f64.powf(-ratio / 20.0) / energy.sqrt();
                taps.iter_mut().for_each(|tap| *tap *= scale);
                for _ in 0..8 {
                    let delay = draw.between(0.002, 0.025);
                    taps[at(delay)] += draw.between(-0.5, 0.5);
                }
                taps[0] = 1.0;
                taps.into_iter().map(|tap| tap as f32).collect()
            }
        }
    }
}

/// What the player does with every cue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manner {
    Silent,
    /// The player plays into the cue.
    Early,
    /// The player answers .15 s after the end of the cue.
    Prompt,
}

/// One sitting to be made.
#[derive(Debug, Clone, Copy)]
pub struct Plan {
    pub room: Room,
    pub manner: Manner,
    /// Whether the player plays the pitches of the cue; else other pitches.
    pub own: bool,
    /// The level of the cue at the microphone, relative to the player's notes, in dB.
    pub level: f64,
    /// By how much the loudspeaker's clock is fast, in millionths.
    pub ppm: f64,
    pub seed: u64,
}

impl Plan {
    /// The sitting with this number of a kind; rooms, levels and clocks change with the number.
    pub fn of(number: usize, manner: Manner, own: bool) -> Self {
        Self {
            room: Room::LOUDSPEAKER[number % 4],
            manner,
            own,
            level: [3.0, -2.0, -8.0, -14.0, -20.0][number % 5],
            ppm: if number % 3 == 1 { 200.0 } else { 0.0 },
            seed: 1000 * manner as u64 + 500 * u64::from(own) + number as u64,
        }
    }
}

/// A note that was truly played.
#[derive(Debug, Clone, Copy)]
pub struct True {
    pub onset: f64,
    pub until: f64,
    pub pitch: f64,
    /// Whether the note began before the cue had ended.
    pub during: bool,
}

/// One sitting: its cues, the notes that were truly played, and the sound in the microphone.
pub struct Made {
    pub cues: Vec<(CueSound, Seconds)>,
    pub played: Vec<True>,
    pub microphone: Vec<f32>,
    /// How fast the loudspeaker's clock runs, as a multiple of the microphone's.
    pub faster: f64,
}

fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / samples.len().max(1) as f64
}

fn mix(into: &mut Vec<f32>, from: usize, samples: &[f32], gain: f64) {
    if into.len() < from + samples.len() {
        into.resize(from + samples.len(), 0.0);
    }
    for (there, sample) in into[from..].iter_mut().zip(samples) {
        *there += (f64::from(*sample) * gain) as f32;
    }
}

/// `samples` read `faster` times as fast (cubic between the samples).
fn faster(samples: &[f32], faster: f64) -> Vec<f32> {
    let at = |index: i64| usize::try_from(index).ok().and_then(|i| samples.get(i)).map_or(0.0, |s| f64::from(*s));
    (0..samples.len())
        .map(|n| {
            let place = n as f64 * faster;
            let (whole, x) = (place.floor() as i64, place.fract());
            let [a, b, c, d] = [whole - 1, whole, whole + 1, whole + 2].map(at);
            (b + 0.5 * x * (c - a + x * (2.0 * a - 5.0 * b + 4.0 * c - d + x * (3.0 * (b - c) + d - a)))) as f32
        })
        .collect()
}

/// The sound of a played note: some cents off, with breath noise, and with vibrato where it is long enough.
pub fn note(pitch: f64, length: f64, bright: f64, draw: &mut Draw) -> Vec<f32> {
    let cents = draw.between(-14.0, 14.0);
    let hz = Midi(pitch + cents / 100.0).hertz(A440);
    let amplitudes: Vec<f64> = (1..=24).map(|n| f64::from(n).powf(-bright)).collect();
    let partials = Partials::new(&amplitudes, hz, RATE);
    let (rise, fall) = (draw.between(0.008, 0.03), 0.03);
    let (mut phase, mut breath) = (draw.even(), 0.0);
    let mut samples: Vec<f32> = (0..RATE.samples(Seconds(length + fall)))
        .map(|index| {
            let at = index as f64 / RATE.per_second();
            let vibrato = 9.0 * edge((at - 0.12) / 0.15) * (TAU * 5.6 * at).sin();
            phase += hz.0 * (vibrato / 1200.0).exp2() / RATE.per_second();
            breath += 0.4 * (draw.between(-1.0, 1.0) - breath);
            let swell = edge(at / rise) * (1.0 - edge((at - length) / fall));
            (swell * (partials.value(phase) + 0.03 * breath)) as f32
        })
        .collect();
    let scale = (10f64.powf(PLAYER / 10.0) / power(&samples)).sqrt();
    samples.iter_mut().for_each(|s| *s = (f64::from(*s) * scale) as f32);
    samples
}

/// A cue of one of the forms, over many keys and tempos.
fn asked(number: usize, draw: &mut Draw) -> CueSound {
    let form = [Form::Pattern, Form::FirstNote, Form::Pattern, Form::Chord][number % 4];
    let root = 55 + (draw.even() * 17.0) as i32;
    let shapes: [&[i32]; 6] = [
        &[0, 2, 4, 5, 7],
        &[0, 4, 7, 4, 0],
        &[7, 5, 4, 2, 0],
        &[0, 0, 1, 2, 3],
        &[0, 7, 12, 7, 4],
        &[4, 2, 1, -1, 0, 0],
    ];
    let pitches: Vec<i32> = shapes[(draw.even() * 6.0) as usize % 6].iter().map(|up| root + up).collect();
    let cue = cue(&pitches, draw.between(80.0, 160.0), form, Timing::Free);
    sound(&cue, &Rendering { count_in: number % 4 == 2, ..Rendering::new(RATE) })
}

/// The pitches of an answer to a cue.
fn answer(sounded: &CueSound, own: bool, number: usize, draw: &mut Draw) -> Vec<f64> {
    let line: Vec<f64> = sounded.notes.iter().map(|note| note.pitch.0).collect();
    if own {
        let turned: Vec<f64> = if number.is_multiple_of(2) { line } else { line.into_iter().rev().collect() };
        return turned.iter().copied().cycle().take(NOTES).collect();
    }
    let low = line.iter().copied().fold(f64::INFINITY, f64::min);
    let class = |pitch: f64| pitch.rem_euclid(12.0);
    let others: Vec<f64> = (-3..14)
        .map(|up| low + f64::from(up))
        .filter(|pitch| line.iter().all(|of| class(*of) != class(*pitch)))
        .collect();
    (0..NOTES).map(|_| others[(draw.even() * others.len() as f64) as usize % others.len()]).collect()
}

/// Makes a sitting.
pub fn made(plan: &Plan) -> Made {
    let mut draw = Draw(plan.seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..8 {
        draw.even();
    }
    let response = plan.room.response(&mut draw);
    let bright = draw.between(0.6, 1.6);
    let first_delay = draw.between(0.004, 0.04);
    let later_delay =
        first_delay + draw.between(0.002, 0.03) * if draw.even() < 0.5 && first_delay > 0.02 { -0.5 } else { 1.0 };
    // Two clocks are lined up to within about a millisecond, one to within a third of that.
    let unsure = if plan.ppm == 0.0 { 0.0003 } else { 0.001 };
    let mut made = Made { cues: Vec::new(), played: Vec::new(), microphone: Vec::new(), faster: 1.0 };
    // A line of a minute knows it to some millionths.
    made.faster += if plan.ppm == 0.0 { 0.0 } else { (plan.ppm + draw.between(-8.0, 8.0)) * 1e-6 };
    let mut at = 0.8;
    // The gain that gives the first cue its level beside the player's notes is kept for all cues. In every third sitting the first three
    // cues are softer than that, as in a player's first sitting.
    let mut full: Option<f64> = None;
    for number in 0..CUES {
        let sounded = asked(number, &mut draw);
        let begins = RATE.seconds(RATE.samples(Seconds(at)));
        let end = begins.0 + sounded.end.0;
        let wet = convolve(&faster(&sounded.clip.samples, 1.0 + plan.ppm * 1e-6), &response);
        let loud = power(&wet[..sounded.clip.samples.len().min(wet.len())]).max(1e-12);
        let gain = full.unwrap_or((10f64.powf((PLAYER + plan.level) / 10.0) / loud).sqrt());
        full = Some(gain);
        let softer =
            if plan.seed.is_multiple_of(3) { [-18.0, -12.0, -6.0].get(number).copied().unwrap_or(0.0) } else { 0.0 };
        let delay = if number < CUES / 2 { first_delay } else { later_delay };
        let late = delay + draw.between(-unsure, unsure);
        mix(&mut made.microphone, RATE.samples(Seconds(begins.0 + late)), &wet, gain * Decibels(softer).amplitude());
        let mut after = end;
        if plan.manner != Manner::Silent {
            let mut onset = end + if plan.manner == Manner::Early { -draw.between(0.05, 0.45) } else { 0.15 };
            for pitch in answer(&sounded, plan.own, number, &mut draw) {
                let whole = draw.between(0.2, 0.35);
                let length = 0.85 * whole;
                mix(&mut made.microphone, RATE.samples(Seconds(onset)), &note(pitch, length, bright, &mut draw), 1.0);
                made.played.push(True { onset, until: onset + length, pitch, during: onset < end });
                onset += whole;
            }
            after = onset;
        }
        made.cues.push((sounded, begins));
        at = after.max(end) + draw.between(1.0, 1.6);
    }
    let length = RATE.samples(Seconds(at + 0.5));
    made.microphone.resize(length, 0.0);
    let hiss = Decibels(NOISE).amplitude() * 3f64.sqrt();
    made.microphone.iter_mut().for_each(|s| *s += (hiss * draw.between(-1.0, 1.0)) as f32);
    made
}

/// The listener after a sitting, and the notes that it takes for the player's, as it told them last.
pub fn listen(made: &Made) -> (PlayerEar, Vec<HeardNote>) {
    let settings = EarSettings { rate: RATE, lowest: Hertz(80.0), highest: Hertz(1600.0), a4: A440 };
    let mut listener = PlayerEar::new(settings, Echo::new(RATE));
    let mut notes: Vec<HeardNote> = Vec::new();
    let (mut next, mut ordered, mut done) = (0, 0, 0);
    let (_, half) = &made.cues[CUES / 2];
    let closed = RATE.samples(*half - Seconds(0.5));
    while done + BLOCK <= made.microphone.len() {
        // The streams are opened anew: for a while nothing is heard.
        let gap = if done < closed && done + BLOCK >= closed { RATE.seconds(30 * BLOCK) } else { Seconds(0.0) };
        done += RATE.samples(gap);
        let block = &made.microphone[done..done + BLOCK];
        while made.cues.get(ordered).is_some_and(|(_, begins)| RATE.samples(*begins - Seconds(0.03)) < done) {
            listener.await_cue();
            ordered += 1;
        }
        // Where a cue lies is known a little after it began.
        while let Some((sounded, begins)) =
            made.cues.get(next).filter(|(_, begins)| RATE.samples(*begins + Seconds(0.05)) < done)
        {
            listener.cue(sounded, Placement { from: *begins, faster: made.faster });
            next += 1;
        }
        let stretch = SoundBlock { at: RATE.seconds(done), rate: RATE, gap };
        for word in listener.hear(stretch, block, &mut |_| {}) {
            let note = *word.note();
            match notes.iter_mut().find(|it| it.number == note.number) {
                Some(it) => *it = note,
                None => notes.push(note),
            }
        }
        done += block.len();
    }
    (listener, notes)
}
