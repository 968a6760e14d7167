//! A robot that plays eight instruments. Where the sound font FluidR3 lies on this machine (Debian: `fluid-soundfont-gm`, MIT licence)
//! its notes are recorded ones, sounded by a synthesizer of general purpose; otherwise eight plain partials stand in for each note. When
//! a recorded note truly begins, and how it is tuned, is measured on its sound without the program's ear, and corrected, so that the
//! note sounds when and as high as it should.

use std::collections::HashMap;
use std::fs::File;
use std::sync::{Arc, Mutex, OnceLock};

use earfirst::outside::sound::Clip;
use earfirst::outside::units::{A440, Midi, SampleRate, Seconds};
use rustysynth::{SoundFont, Synthesizer, SynthesizerSettings};

use crate::chance::Chance;

const FONT: &str = "/usr/share/sounds/sf2/FluidR3_GM.sf2";
const RATE: i32 = 48_000;
/// Peak of a stroke without an accent.
const PEAK: f32 = 0.2;
/// A note let go falls by 60 dB in this time, seconds.
const LET_GO: f64 = 0.12;

/// An instrument of ours and its place in the General MIDI list (RP-003).
pub const VOICES: [(&str, i32); 8] = [
    ("trumpet", 56),
    ("trombone", 57),
    ("alto-sax", 65),
    ("clarinet", 71),
    ("flute", 73),
    ("violin", 40),
    ("cello", 42),
    ("guitar", 24),
];

/// One note as the robot plays it.
#[derive(Debug, Clone)]
pub struct Stroke {
    /// When it is first heard, and for how long it is held, seconds.
    pub at: f64,
    pub length: f64,
    /// Note number with its fraction.
    pub pitch: f64,
    /// Louder or softer than the others, dB.
    pub accent: f64,
    /// The note begins with a squeak, this many half steps higher.
    pub chirp: Option<f64>,
    /// The note is damped at its end by so many dB and rings on below the next one, as when a note is struck again.
    pub damped: Option<f64>,
}

/// What was measured of one recorded note: how long after its key it is heard (seconds), and how it is tuned.
#[derive(Debug, Clone, Copy)]
struct Measured {
    after: f64,
    half_steps: f64,
}

pub struct Robot {
    font: Option<Arc<SoundFont>>,
    measured: Mutex<HashMap<(i32, i32, i32), Measured>>,
}

impl Robot {
    pub fn get() -> &'static Self {
        static ROBOT: OnceLock<Robot> = OnceLock::new();
        ROBOT.get_or_init(|| {
            let font = File::open(FONT).ok().and_then(|mut file| SoundFont::new(&mut file).ok()).map(Arc::new);
            Self { font, measured: Mutex::new(HashMap::new()) }
        })
    }

    /// Whether the instruments are recorded ones.
    pub fn recorded(&self) -> bool {
        self.font.is_some()
    }

    /// The strokes in a still room, with two seconds after the last.
    pub fn play(&self, program: i32, strokes: &[Stroke], chance: &mut Chance) -> Clip {
        let rate = SampleRate::new(RATE as u32).unwrap();
        let end = strokes.iter().map(|stroke| stroke.at + stroke.length).fold(0.0, f64::max) + 2.0;
        let mut clip = Clip::silence(rate, Seconds(end));
        clip.samples.iter_mut().for_each(|sample| *sample += 0.0008 * (chance.between(-1.0, 1.0) as f32));
        for stroke in strokes {
            let (sound, after) = self.stroke(program, stroke);
            let from = stroke.at - after;
            let skipped = rate.samples(Seconds((-from).max(0.0)));
            clip.mix(rate.samples(Seconds(from.max(0.0))), &sound[skipped.min(sound.len())..]);
        }
        clip
    }

    /// The sound of one stroke, and when it is first heard in it.
    fn stroke(&self, program: i32, stroke: &Stroke) -> (Vec<f32>, f64) {
        let key = stroke.pitch.round() as i32;
        let known = self.measure(program, key, stroke.length);
        let bend = stroke.pitch - f64::from(key) - known.half_steps;
        let mut sound = self.raw(program, key, bend, known.after + stroke.length + 0.4);
        let loudest = sound.iter().fold(1e-6f32, |most, sample| most.max(sample.abs()));
        let gain = PEAK / loudest * 10f32.powf(stroke.accent as f32 / 20.0);
        let (held, hz) = (known.after + stroke.length, f64::from(RATE));
        for (n, sample) in sound.iter_mut().enumerate() {
            let past = n as f64 / hz - held;
            // Damped within 12 ms before the end, to ring on softly below what follows.
            let fallen = match stroke.damped {
                Some(by) => by * ((past + 0.015) / 0.012).clamp(0.0, 1.0) + 60.0 * (past - 0.03).max(0.0) / 0.03,
                None => 60.0 * past.max(0.0) / LET_GO,
            };
            *sample *= gain * 10f32.powf(-fallen as f32 / 20.0);
        }
        if let Some(up) = stroke.chirp {
            squeak(&mut sound, known.after, stroke.pitch + up);
        }
        (sound, known.after)
    }

    /// A note of the sound font, or of plain partials where there is no font, bent by `bend` half steps.
    fn raw(&self, program: i32, key: i32, bend: f64, length: f64) -> Vec<f32> {
        let count = (length * f64::from(RATE)) as usize;
        let Some(font) = &self.font else { return plain(f64::from(key) + bend, count) };
        let mut settings = SynthesizerSettings::new(RATE);
        (settings.enable_reverb_and_chorus, settings.maximum_polyphony, settings.block_size) = (false, 8, 16);
        let mut synth = Synthesizer::new(font, &settings).unwrap();
        synth.process_midi_message(0, 0xC0, program, 0);
        // The pitch wheel reaches two half steps either way in 8192 (MIDI 1.0).
        let wheel = (8192.0 + bend / 2.0 * 8192.0).round().clamp(0.0, 16_383.0) as i32;
        synth.process_midi_message(0, 0xE0, wheel & 127, wheel >> 7);
        synth.note_on(0, key, 96);
        let (mut left, mut right) = (vec![0.0; count], vec![0.0; count]);
        synth.render(&mut left, &mut right);
        left.iter().zip(&right).map(|(one, other)| 0.5 * (one + other)).collect()
    }

    /// What is measured of a note that is held for so long: a recorded note may begin half a half step off the pitch to which it comes.
    fn measure(&self, program: i32, key: i32, length: f64) -> Measured {
        let twentieths = ((20.0 * length).round() as i32).clamp(2, 10);
        let which = (program, key, twentieths);
        if let Some(known) = self.measured.lock().unwrap().get(&which) {
            return *known;
        }
        let raw = self.raw(program, key, 0.0, 1.0);
        let after = first_heard(&raw);
        let half_steps = off_pitch(&raw, f64::from(key), after + 0.03, 0.05 * f64::from(twentieths) - 0.02);
        let found = Measured { after, half_steps };
        self.measured.lock().unwrap().insert(which, found);
        found
    }
}

/// When the sound is first within 20 dB of its loudest moment in the first .3 s, over 4 ms.
fn first_heard(sound: &[f32]) -> f64 {
    let span = RATE as usize / 250;
    let power: Vec<f64> = sound
        .chunks(span / 4)
        .map(|piece| piece.iter().map(|sample| f64::from(*sample).powi(2)).sum::<f64>())
        .collect();
    let smooth: Vec<f64> = power.windows(4).map(|four| four.iter().sum()).collect();
    let loudest = smooth.iter().take(300).fold(0.0f64, |most, now| most.max(*now));
    let first = smooth.iter().position(|now| *now >= 0.01 * loudest).unwrap_or(0);
    (first + 2) as f64 * (span / 4) as f64 / f64::from(RATE)
}

/// How far a sound lies from `pitch`, in half steps, measured on so many seconds from second `from` on. The pitch follows from the lag,
/// near a whole number of periods, at which the sound is most like itself.
fn off_pitch(sound: &[f32], pitch: f64, from: f64, seconds: f64) -> f64 {
    let period = f64::from(RATE) / Midi(pitch).hertz(A440).0;
    let [from, count] = [from, seconds].map(|seconds| (seconds * f64::from(RATE)) as usize);
    let periods = (0.03 * f64::from(RATE) / period).floor().clamp(4.0, 12.0);
    let like = |lag: usize| -> f64 {
        let (one, other) = (&sound[from..from + count], &sound[from + lag..from + lag + count]);
        let product: f64 = one.iter().zip(other).map(|(a, b)| f64::from(a * b)).sum();
        let energy = |part: &[f32]| part.iter().map(|a| f64::from(a * a)).sum::<f64>();
        product / (energy(one) * energy(other)).sqrt().max(1e-12)
    };
    // Only lags within half a half step are looked at.
    let middle = periods * period;
    let (low, high) = ((middle * 0.975) as usize, (middle * 1.025) as usize + 1);
    let best = (low..=high).max_by(|a, b| like(*a).total_cmp(&like(*b))).unwrap_or(low);
    let (before, here, after) = (like(best - 1), like(best), like(best + 1));
    let bent = before - 2.0 * here + after;
    let part = if bent.abs() > 1e-12 { 0.5 * (before - after) / bent } else { 0.0 };
    12.0 * (middle / (best as f64 + part)).log2()
}

/// A squeak of 30 ms before a note speaks.
fn squeak(sound: &mut [f32], from: f64, pitch: f64) {
    let hz = f64::from(RATE);
    let first = (from * hz) as usize;
    let count = (0.03 * hz) as usize;
    for (n, sample) in sound.iter_mut().skip(first).take(count).enumerate() {
        let (into, left) = (n as f64 / hz, (count - n) as f64 / hz);
        let edge = (into / 0.004).min(left / 0.004).min(1.0);
        let wave = (std::f64::consts::TAU * Midi(pitch).hertz(A440).0 * into).sin();
        *sample = 0.4 * *sample + 0.6 * PEAK * (edge * wave) as f32;
    }
}

/// Eight partials falling as 1/k.
fn plain(pitch: f64, count: usize) -> Vec<f32> {
    let (hz, f) = (f64::from(RATE), Midi(pitch).hertz(A440).0);
    let wave =
        |t: f64| (1..=8).map(|k| (std::f64::consts::TAU * f64::from(k) * f * t).sin() / f64::from(k)).sum::<f64>();
    (0..count).map(|n| n as f64 / hz).map(|t| ((t / 0.008).min(1.0) * wave(t)) as f32).collect()
}
