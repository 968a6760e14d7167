//! What lies around the notes: rooms, noise, hum, clicks, broken channels; and sound in which there is no note at all.
use std::f64::consts::TAU;

use earfirst::outside::sound::{convolve, edge, room_response};
use earfirst::outside::units::{Decibels, SampleRate, Seconds};

use crate::chance::Chance;
use crate::measure::RATE;

/// The level of what sounds, root mean square over the part that is not silence.
pub fn level(sound: &[f32]) -> f64 {
    let loud: Vec<f64> = sound.iter().map(|s| f64::from(*s).powi(2)).filter(|power| *power > 1e-6).collect();
    (loud.iter().sum::<f64>() / loud.len().max(1) as f64).sqrt()
}

/// Noise with equal power an octave, root mean square 1: twelve random values, each renewed half as often as the one before it, and
/// white noise (after Voss and Clarke 1978).
pub fn pink(count: usize, chance: &mut Chance) -> Vec<f64> {
    let mut rows = [0.0; 12];
    let mut out: Vec<f64> = (0..count)
        .map(|n| {
            for (octave, row) in rows.iter_mut().enumerate() {
                if n % (1 << octave) == 0 {
                    *row = chance.between(-1.0, 1.0);
                }
            }
            rows.iter().sum::<f64>() + chance.between(-1.0, 1.0)
        })
        .collect();
    let power = out.iter().map(|s| s * s).sum::<f64>() / count.max(1) as f64;
    out.iter_mut().for_each(|s| *s /= power.sqrt().max(1e-9));
    out
}

/// Noise through a resonance of two poles, `width` hertz wide, whose centre in hertz may move with time; root mean square about 1.
pub fn band(count: usize, centre: impl Fn(f64) -> f64, width: f64, chance: &mut Chance) -> Vec<f64> {
    let radius = (-std::f64::consts::PI * width / RATE).exp();
    let (mut one, mut two) = (0.0, 0.0);
    (0..count)
        .map(|n| {
            let turn = TAU * centre(n as f64 / RATE) / RATE;
            let now = chance.between(-1.7, 1.7) + 2.0 * radius * turn.cos() * one - radius * radius * two;
            (one, two) = (now, one);
            now * ((1.0 - radius * radius) * (1.0 - radius)).sqrt() * turn.sin().max(0.05) * 2.0
        })
        .collect()
}

pub fn add(sound: &mut [f32], other: &[f64], gain: f64) {
    for (mine, theirs) in sound.iter_mut().zip(other) {
        *mine += (gain * theirs) as f32;
    }
}

/// The sound in a room with this reverberation time (seconds) and this ratio of direct to reverberant energy (dB), cut to its
/// length before.
pub fn in_room(sound: &[f32], reverberation: f64, direct_db: f64, chance: &mut Chance) -> Vec<f32> {
    let draw = &mut || chance.between(0.0, 1.0);
    let room = room_response(SampleRate::CD, Seconds(reverberation), Decibels(direct_db), draw);
    let mut wet = convolve(sound, &room);
    wet.truncate(sound.len());
    wet
}

/// Mains hum with the partials 1, 2, 3, 5 and 7, root mean square about 1.
pub fn hum(count: usize, hz: f64) -> Vec<f64> {
    let parts = [(1.0, 0.9), (2.0, 0.5), (3.0, 0.6), (5.0, 0.25), (7.0, 0.1)];
    let at = |t: f64| parts.iter().map(|(k, a)| a * (TAU * k * hz * t + k).sin()).sum::<f64>();
    (0..count).map(|n| 1.1 * at(n as f64 / RATE)).collect()
}

/// A metronome's clicks, one every `every` seconds, peak about 1.
pub fn clicks(count: usize, every: f64, hz: f64) -> Vec<f64> {
    let at = |t: f64| (TAU * hz * (t % every)).sin() * (-(t % every) / 0.005).exp();
    (0..count).map(|n| at(n as f64 / RATE + 0.6 * every)).collect()
}

/// Every kind of degraded sound: its name and the sound.
pub fn degraded(sound: &[f32], chance: &mut Chance) -> Vec<(&'static str, Vec<f32>)> {
    let (level, count) = (level(sound), sound.len());
    let peak = sound.iter().fold(0.0f32, |most, s| most.max(s.abs()));
    let with = |other: &[f64], gain: f64| {
        let mut out = sound.to_vec();
        add(&mut out, other, gain);
        out
    };
    let mut all = vec![
        ("click", with(&clicks(count, 0.5, 1500.0), 0.1 * f64::from(peak))),
        ("hum50", with(&hum(count, 50.0), 0.1 * level)),
        ("hum60", with(&hum(count, 60.0), 0.1 * level)),
        ("noise20", with(&pink(count, chance), 0.1 * level)),
        ("noise10", with(&pink(count, chance), 0.316 * level)),
    ];
    all.push(("clip", sound.iter().map(|s| (3.6 * s / peak).clamp(-0.9, 0.9)).collect()));
    all.push(("room", in_room(sound, 0.4, 9.0, chance)));
    all
}

/// Sound in which every heard note is false: its name and eight seconds of it.
pub fn silent(chance: &mut Chance) -> Vec<(&'static str, Vec<f32>)> {
    let count = (8.0 * RATE) as usize;
    let gate = |t: f64, rate: f64, duty: f64| {
        let place = (t * rate).fract();
        edge(place / 0.1) * (1.0 - edge((place - duty) / 0.1))
    };
    let gated = |noise: Vec<f64>, rate: f64, duty: f64| -> Vec<f64> {
        noise.iter().enumerate().map(|(n, s)| s * gate(n as f64 / RATE, rate, duty)).collect()
    };
    let mut made: Vec<(&'static str, Vec<f64>)> =
        vec![("roomnoise", pink(count, chance).iter().map(|s| 0.002 * s).collect())];
    let breath = gated(band(count, |_| 1500.0, 2500.0, chance), 0.4, 0.45);
    made.push(("breath", breath.iter().map(|s| 0.02 * s).collect()));
    let blown = gated(band(count, |_| 1000.0, 500.0, chance), 0.5, 0.5);
    made.push(("airy blowing", blown.iter().map(|s| 0.05 * s).collect()));
    let mut clatter = vec![0.0; count];
    for _ in 0..45 {
        let at = chance.whole(0, count as i32 - 1300) as usize;
        let loud = chance.between(0.02, 0.15);
        let knock = |n: usize| loud * (-(n as f64) / 150.0).exp();
        clatter[at..at + 1200].iter_mut().enumerate().for_each(|(n, s)| *s += knock(n) * chance.between(-1.0, 1.0));
    }
    made.push(("clatter", clatter));
    made.push(("clicks", clicks(count, 0.5, 1500.0).iter().map(|s| 0.3 * s).collect()));
    made.push(("hum", hum(count, 50.0).iter().map(|s| 0.003 * s).collect()));
    let mut whisper = vec![0.0; count];
    for (rate, hz) in [(4.0, 500.0), (4.1, 1500.0), (4.2, 2500.0)] {
        let part = gated(gated(band(count, |_| hz, 0.3 * hz, chance), rate, 0.5), 0.7, 0.7);
        whisper.iter_mut().zip(&part).for_each(|(mine, theirs)| *mine += 0.03 * theirs);
    }
    made.push(("whisper", whisper));
    made.into_iter()
        .map(|(name, mut sound)| {
            sound.iter_mut().for_each(|s| *s += 1e-5 * chance.between(-1.0, 1.0));
            (name, sound.iter().map(|s| *s as f32).collect())
        })
        .collect()
}
