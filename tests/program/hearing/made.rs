use earfirst::outside::notes::{Ear, EarSettings, Frame, HeardNote, NoteEvent, hear_clip};
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{A440, Hertz, Midi, SampleRate, Seconds};
use std::f64::consts::TAU;

/// An ear for everything between the lowest bass and the top of the piano.
pub fn settings(rate: SampleRate) -> EarSettings {
    EarSettings { rate, lowest: Hertz(26.0), highest: Hertz(4500.0), a4: A440 }
}

pub fn rate(hz: u32) -> SampleRate {
    SampleRate::new(hz).unwrap()
}

/// A tone whose pitch and level may move. It has up to eight partials, the k-th with an amplitude of 1/k, and rises and falls in 6 ms.
pub fn tone(rate: SampleRate, length_s: f64, midi: impl Fn(f64) -> f64, level: impl Fn(f64) -> f64) -> Vec<f32> {
    let hz = rate.per_second();
    let count = (length_s * hz) as usize;
    let mut phase = 0.0;
    (0..count)
        .map(|n| {
            let t = n as f64 / hz;
            let f = Midi(midi(t)).hertz(A440).0;
            phase = (phase + TAU * f / hz) % TAU;
            let partials = (1..=8).take_while(|k| f64::from(*k) * f < 0.45 * hz);
            let wave: f64 = partials.map(|k| (f64::from(k) * phase).sin() / f64::from(k)).sum();
            let edge = (t / 0.006).min((length_s - t) / 0.006).clamp(0.0, 1.0);
            (0.2 * level(t) * edge * wave) as f32
        })
        .collect()
}

/// A steady note.
pub fn note(rate: SampleRate, midi: f64, length_s: f64) -> Vec<f32> {
    tone(rate, length_s, |_| midi, |_| 1.0)
}

/// Sounds one after another with a silence of `gap_s` between them; the first begins at .3 s.
pub fn line(rate: SampleRate, sounds: &[Vec<f32>], gap_s: f64) -> Clip {
    let mut clip = Clip::silence(rate, Seconds(0.3));
    for sound in sounds {
        let from = clip.samples.len();
        clip.mix(from, sound);
        let end = clip.samples.len() + rate.samples(Seconds(gap_s));
        clip.samples.resize(end, 0.0);
    }
    let end = clip.samples.len() + rate.samples(Seconds(0.4));
    clip.samples.resize(end, 0.0);
    clip
}

pub fn heard(clip: &Clip) -> Vec<HeardNote> {
    hear_clip(&settings(clip.rate), clip)
}

/// All frames and events of an ear that hears a clip in blocks of one length.
pub fn all_said(clip: &Clip, block: usize) -> (Vec<Frame>, Vec<NoteEvent>) {
    let mut ear = Ear::new(&settings(clip.rate));
    let (mut frames, mut told) = (Vec::new(), Vec::new());
    for samples in clip.samples.chunks(block) {
        ear.hear(samples, &mut |frame| frames.push(*frame), &mut |said| told.push(*said));
    }
    ear.finish(&mut |frame| frames.push(*frame), &mut |said| told.push(*said));
    (frames, told)
}

/// Noise of -1 to 1 by a linear congruential generator (constants of Numerical Recipes).
pub fn noise(count: usize, seed: u32) -> Vec<f32> {
    let mut state = seed;
    (0..count)
        .map(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (f64::from(state) / f64::from(u32::MAX) * 2.0 - 1.0) as f32
        })
        .collect()
}

/// The sound as it is heard in a room. The echo of the room falls by 60 dB in .4 s and has `under_db` dB less energy than the sound itself;
/// it is exponentially decaying noise (Schroeder's model of a diffuse field), with one reflection every 37 samples.
pub fn in_a_room(dry: &Clip, under_db: f64) -> Clip {
    let hz = dry.rate.per_second();
    let tail = noise(dry.rate.samples(Seconds(0.4)), 7);
    let fading = |n: usize| f64::from(tail[n]) * (-6.91 * n as f64 / hz / 0.4).exp();
    let echoes = || (200..tail.len()).step_by(37);
    let energy: f64 = echoes().map(|n| fading(n).powi(2)).sum();
    let gain = (10f64.powf(-under_db / 10.0) / energy).sqrt();
    let mut wet = dry.clone();
    for n in echoes() {
        let echo: Vec<f32> = dry.samples.iter().map(|s| s * (gain * fading(n)) as f32).collect();
        wet.mix(n, &echo);
    }
    wet
}

/// Fails unless exactly these pitches were heard, each within `cents`.
pub fn assert_pitches(notes: &[HeardNote], pitches: &[f64], cents: f64) {
    let said: Vec<f64> = notes.iter().map(|n| n.pitch.0).collect();
    assert_eq!(said.len(), pitches.len(), "heard {said:?} of {pitches:?}");
    for (heard, played) in said.iter().zip(pitches) {
        assert!((heard - played).abs() * 100.0 <= cents, "heard {said:?} of {pitches:?}");
    }
}
