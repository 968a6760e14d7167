//! Takes: a player's lines over a band that comes through a loudspeaker and a room into the same microphone.
use std::f64::consts::TAU;

use earfirst::outside::sound::{Partials, convolve, edge};
use earfirst::outside::units::{A440, Hertz, Midi, SampleRate};

use crate::chance::Chance;
use crate::corpus::{Heard, Take, named, shape};
use crate::measure::RATE;
use crate::sing::{Joint, Note, Stroke, Swell, sing};
use crate::source::Source;

/// Length of a take, seconds.
pub const LENGTH: f64 = 30.0;
/// Mean level of the player where he sounds.
const PLAYER: f64 = 0.1;
/// Time after a note in which the room still has it, seconds: a note told there is none in a rest.
const RINGS: f64 = 0.3;
/// Chords of the four bars: half steps of root, third, fifth and seventh above the key (I, vi, ii, V).
const BARS: [[i32; 4]; 4] = [[0, 4, 7, 11], [9, 12, 16, 19], [2, 5, 9, 12], [7, 11, 14, 17]];

/// One take.
pub struct BandTake {
    /// Name, the player's sound and his notes.
    pub truth: Take,
    /// What was sounded, sample for sample.
    pub band: Vec<f32>,
    /// The band in the room as the microphone has it, at the player's mean level.
    pub echo: Vec<f32>,
    /// When the lead-in ends, seconds.
    pub lead_in: f64,
    /// When the band's first sample comes to the microphone, to 4 ms.
    pub late: f64,
    /// By how much the loudspeaker's clock is fast, in millionths.
    pub ppm: f64,
    hiss: Vec<f32>,
}

impl BandTake {
    /// What the microphone gives where the player is louder than the band by so many dB.
    pub fn microphone(&self, level: f64) -> Vec<f32> {
        let gain = 10f64.powf(-0.05 * level) as f32;
        let all = self.truth.sound.iter().zip(&self.echo).zip(&self.hiss);
        all.map(|((own, echo), hiss)| own + gain * echo + hiss).collect()
    }

    /// The same take, but nobody plays.
    pub fn without_player(mut self) -> Self {
        self.truth.sound.fill(0.0);
        self.truth.notes.clear();
        self
    }

    /// The same take, but the player is softer by so many dB than what the levels are told of.
    pub fn softer(mut self, by: f64) -> Self {
        let gain = 10f64.powf(-0.05 * by) as f32;
        self.truth.sound.iter_mut().for_each(|sample| *sample *= gain);
        self
    }

    /// The same take, but the band comes later by so many seconds than is told.
    pub fn later(mut self, by: f64) -> Self {
        let (late, all) = ((by * RATE) as usize, self.echo.len());
        self.echo = std::iter::repeat_n(0.0, late).chain(self.echo).take(all).collect();
        self
    }

    /// The same take, but the player warms up in the lead-in, with what he plays after it.
    pub fn warmed_up(mut self) -> Self {
        let (before, after) = self.truth.sound.split_at_mut((self.lead_in * RATE) as usize);
        before.iter_mut().zip(after).for_each(|(into, sample)| *into += *sample);
        self
    }

    /// Number of notes told in rests, and the length of the rests, seconds.
    pub fn in_rests(&self, told: &[Heard]) -> (usize, f64) {
        let sounds =
            |t: f64| self.truth.notes.iter().any(|note| (note.onset - 0.05..note.release + RINGS).contains(&t));
        let few = told.iter().filter(|note| !sounds(note.onset)).count();
        let steps = ((LENGTH - self.lead_in) / 0.01) as usize;
        let rest = (0..steps).filter(|n| !sounds(self.lead_in + 0.01 * *n as f64)).count();
        (few, 0.01 * rest as f64)
    }
}

fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / samples.len().max(1) as f64
}

/// Take number `k` of a seed: room, clock, style and player change with the number.
pub fn take(seed: u64, k: usize, players: &[(String, Source)], still: bool) -> BandTake {
    let chance = &mut Chance::new(seed.wrapping_mul(1_000_003) ^ named(&format!("take {k}")));
    let (name, source) = &players[k % players.len()];
    let (decay, style) = ([0.2, 0.4, 0.7][k % 3], ["sustained", "comped", "equal"][k / 9 % 3]);
    let ppm = [0.0, 50.0, 200.0][k / 3 % 3] * chance.pick(&[-1.0, 1.0]);
    let length = chance.pick(&[0.5f64, 0.25, 0.25, 0.15]);
    let beat = length * (0.42 / length).ceil();
    let (own, notes) = lines(source, length, beat, chance);
    let band = sounded(&notes, beat, style, chance);
    let delay = chance.between(0.005, 0.08);
    let jump = (k % 2 == 1 && !still).then_some(0.55 * LENGTH);
    let by = chance.between(0.001, 0.008) * chance.pick(&[-1.0, 1.0]);
    let by = if delay + by < 0.001 { -by } else { by };
    let shift = |t: f64| {
        let wander = if still { 0.0 } else { 0.00015 * (TAU * t / 23.0).sin() };
        delay + wander + if jump.is_some_and(|at| t >= at) { by } else { 0.0 }
    };
    let wet = in_room(&band, decay, chance);
    let mut echo: Vec<f32> = (0..own.len())
        .map(|n| {
            let t = n as f64 / RATE;
            at(&wet, (t - shift(t)) * (1.0 + 1e-6 * ppm) * RATE)
        })
        .collect();
    let scale = PLAYER / power(&echo).sqrt().max(1e-9);
    echo.iter_mut().for_each(|s| *s *= scale as f32);
    let late = delay + chance.between(-0.004, 0.004);
    let mut low = 0.0;
    let hiss = (0..own.len())
        .map(|_| {
            // First order at 500 Hz, 62 dB under full scale.
            low += 0.069 * (chance.between(-1.0, 1.0) - low);
            (low * 7.4 * 10f64.powf(-3.1)) as f32
        })
        .collect();
    let truth =
        Take { name: format!("{k} {name} {style} rt {decay} ppm {ppm:.0}"), part: style.to_owned(), sound: own, notes };
    BandTake { truth, band, echo, lead_in: 8.0 * beat, late, ppm, hiss }
}

/// A signal between its samples (Catmull and Rom 1974).
fn at(sound: &[f32], place: f64) -> f32 {
    let (whole, x) = (place.floor() as i64, place.rem_euclid(1.0));
    let [a, b, c, d] = [-1, 0, 1, 2]
        .map(|by| usize::try_from(whole + by).ok().and_then(|n| sound.get(n)).map_or(0.0, |sample| f64::from(*sample)));
    (b + 0.5 * x * (c - a + x * (2.0 * a - 5.0 * b + 4.0 * c - d + x * (3.0 * (b - c) + d - a)))) as f32
}

/// The player: two bars of silence, then lines, each from a bar line, with a bar or more of rest after it.
fn lines(source: &Source, length: f64, beat: f64, chance: &mut Chance) -> (Vec<f32>, Vec<Note>) {
    let count = (LENGTH * RATE) as usize;
    let (mut own, mut all) = (vec![0.0f32; count], Vec::new());
    let (low, high) = source.span();
    let bar = 4.0 * beat;
    let (mut bars, mut tried) = (2.0, 0);
    while (bars + 1.0) * bar < LENGTH {
        let kind = chance.pick(&["half steps", "half steps", "scale", "chord", "again"]);
        let steps = shape(kind, chance);
        let root = chance.whole(low, (high - 12).max(low));
        let slurred = kind != "again" && chance.happens(0.4);
        let strokes: Vec<Stroke> = (0..)
            .zip(&steps)
            .map(|(n, step)| {
                let joint = if slurred && n > 0 { Joint::Cross } else { Joint::Tongued };
                let held = if slurred || source.rings() { 1.0 } else { 0.88 };
                let from = bars * bar + f64::from(n) * length + chance.normal(0.008).clamp(-0.02, 0.02);
                let plain = Stroke::plain(from, held * length, f64::from(root + step) + chance.normal(0.05));
                Stroke { joint, accent: chance.between(-2.5, 2.5), ..plain }
            })
            .collect();
        if strokes.last().is_some_and(|last| last.at + last.length + 0.3 > LENGTH) {
            break;
        }
        let speaks = strokes
            .iter()
            .all(|it| source.speaks_in(it.midi).is_some_and(|time| it.joint == Joint::Cross || time < 0.45 * length));
        let Some((sound, notes)) =
            Some(()).filter(|()| speaks).and_then(|()| sing(source, &strokes, Swell::default(), chance))
        else {
            // Another line may do.
            tried += 1;
            if tried % 20 == 0 {
                bars += 1.0;
            }
            continue;
        };
        let sounding = notes.iter().map(|note| note.release - note.onset).sum::<f64>() * RATE;
        let energy: f64 = sound.iter().map(|s| f64::from(*s).powi(2)).sum();
        let gain = PLAYER / (energy / sounding.max(1.0)).sqrt().max(1e-9);
        own.iter_mut().zip(&sound).for_each(|(into, sample)| *into += (f64::from(*sample) * gain) as f32);
        let end = notes.last().map_or(0.0, |note| note.release);
        all.extend(notes);
        bars = (end / bar).ceil() + 1.0;
    }
    (own, all)
}

/// The band: bass in quarters and chords, four bars over and over, in the key that has most of the player's pitches.
fn sounded(notes: &[Note], beat: f64, style: &str, chance: &mut Chance) -> Vec<f32> {
    let mut band = vec![0.0f32; (LENGTH * RATE) as usize];
    let bar = 4.0 * beat;
    for number in 0..(LENGTH / bar) as usize + 1 {
        let here = (number / 4 * 4) as f64 * bar;
        let near: Vec<&Note> = notes.iter().filter(|it| (here - bar..here + 5.0 * bar).contains(&it.onset)).collect();
        let class = |midi: f64| (midi.round() as i32).rem_euclid(12);
        let fits = |key: i32| {
            near.iter().filter(|it| [0, 2, 4, 5, 7, 9, 11].contains(&(class(it.midi) - key).rem_euclid(12))).count()
        };
        let key = (0..12).max_by_key(|key| fits(*key)).unwrap_or(0);
        let chord = BARS[number % 4].map(|step| key + step);
        let from = number as f64 * bar;
        for quarter in 0..4 {
            let step = [chord[0], chord[2], chord[0], chord[1]][quarter];
            let low = 28 + (step - 28).rem_euclid(12) + if chance.happens(0.3) { 12 } else { 0 };
            tone(&mut band, from + quarter as f64 * beat, beat, f64::from(low), 0.05, (0.005, 2.2, true), 1.0);
        }
        let voices: Vec<f64> = match style {
            "equal" if !near.is_empty() => (0..4).map(|_| chance.pick(&near).midi).collect(),
            _ => chord.iter().map(|step| f64::from(52 + (step - 52).rem_euclid(12))).collect(),
        };
        let struck: &[(f64, f64)] =
            if style == "comped" { &[(0.0, 0.5), (1.5, 0.4), (3.0, 0.5)] } else { &[(0.0, 4.0)] };
        let (rise, dies) = if style == "comped" { (0.005, 0.9) } else { (0.03, 6.0) };
        for (at, lasts) in struck {
            for voice in &voices {
                tone(&mut band, from + at * beat, lasts * beat, *voice, 0.03, (rise, dies, false), 1.0);
            }
        }
    }
    band
}

/// Adds a tone: `rise` and 60 dB of fall in seconds; in a bass the higher partials die sooner.
fn tone(
    band: &mut [f32],
    from: f64,
    lasts: f64,
    midi: f64,
    gain: f64,
    (rise, dies, bass): (f64, f64, bool),
    bright: f64,
) {
    let pitch = Midi(midi).hertz(A440);
    let place = (from * RATE) as usize;
    let parts = if bass { 12 } else { 1 };
    for part in 1..=parts {
        let partials = if bass {
            Partials::new(
                &[Hertz(1.0 / (1.0 + (pitch.0 * f64::from(part) / 900.0).powi(2))).0 * f64::from(part).powf(-0.25)],
                Hertz(pitch.0 * f64::from(part)),
                SampleRate::CD,
            )
        } else {
            Partials::mellow(pitch, SampleRate::CD)
        };
        let scale = if bass { gain * bright } else { gain * bright / partials.peak() };
        let sixty = dies / (1.0 + 0.3 * f64::from(part - 1));
        for n in 0..((lasts + 0.05) * RATE) as usize {
            let Some(into) = band.get_mut(place + n) else { break };
            let t = n as f64 / RATE;
            let shape = edge(t / rise) * (1.0 - edge((t - lasts) / 0.05)) * 10f64.powf(-3.0 * t / sixty);
            *into += (scale * shape * partials.value(pitch.0 * f64::from(part) * t)) as f32;
        }
    }
}

/// A small loudspeaker half a metre off: a little third order, nothing below 90 Hz, direct sound, eight reflections, a tail.
fn in_room(band: &[f32], decay: f64, chance: &mut Chance) -> Vec<f32> {
    let peak = band.iter().fold(1e-9f32, |most, s| most.max(s.abs()));
    let (mut low, share) = (0.0f32, (-TAU * 90.0 / RATE).exp() as f32);
    let bent: Vec<f32> = band
        .iter()
        .map(|s| {
            let x = s / peak;
            let x = x + 0.08 * x * x * x;
            low = share * low + (1.0 - share) * x;
            x - low
        })
        .collect();
    let mut taps = vec![0.0f64; (decay * RATE) as usize];
    for (n, tap) in taps.iter_mut().enumerate().skip((0.012 * RATE) as usize) {
        *tap = chance.between(-1.0, 1.0) * 10f64.powf(-3.0 * n as f64 / RATE / decay);
    }
    let energy: f64 = taps.iter().map(|tap| tap * tap).sum();
    let ratio = if decay < 0.3 {
        6.0
    } else if decay < 0.5 {
        3.0
    } else {
        0.0
    };
    let scale = 10f64.powf(-0.05 * ratio) / energy.sqrt().max(1e-9);
    taps.iter_mut().for_each(|tap| *tap *= scale);
    for _ in 0..8 {
        taps[(chance.between(0.002, 0.025) * RATE) as usize] += chance.between(-0.5, 0.5);
    }
    taps[0] = 1.0;
    let taps: Vec<f32> = taps.into_iter().map(|tap| tap as f32).collect();
    convolve(&bent, &taps)
}
