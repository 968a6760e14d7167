//! Keys that sound through the loudspeaker, for an instrument that is silent itself. A key is a few sines made in the callback, so
//! that nothing has to be rendered first. `KeyVoices` never allocates, frees, locks or waits; `KeyTone::new` allocates, on the
//! hearing thread.

use std::f64::consts::TAU;

use crate::sound::Partials;
use crate::units::{Decibels, Hertz, SampleRate, Seconds};

/// Number of sines of a tone: enough for what a small loudspeaker gives of the lowest keys.
const SINES: usize = 16;
/// Number of keys that can sound at once, one a finger; an eleventh is not sounded.
const VOICES: usize = 10;
/// Times in which a tone rises, falls, and sinks by 60 dB, as when answers by MIDI are heard again.
const RISE: Seconds = Seconds(0.006);
const FALL: Seconds = Seconds(0.08);
const DYING: Seconds = Seconds(4.0);
/// Share of its first amplitude (80 dB below it) under which a tone is over.
const OVER: f32 = 1e-4;

/// A key, and how it is to sound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeyTone {
    key: u8,
    pitch: Hertz,
    /// Peak of this key's tone, as a share of the largest peak that all keys together may have.
    share: f32,
    /// Sine and cosine amplitude of each partial.
    waves: [(f32, f32); SINES],
}

impl KeyTone {
    /// The sound of the cues on this key, at this pitch, with the peak `peak`; `most` is the highest peak of all keys together.
    #[must_use]
    pub fn new(key: u8, pitch: Hertz, (peak, most): (Decibels, Decibels), rate: SampleRate) -> Self {
        let partials = Partials::mellow(pitch, rate).first(SINES);
        let scale = peak.amplitude() / partials.peak();
        let mut waves = [(0.0, 0.0); SINES];
        for (wave, (by_sin, by_cos)) in waves.iter_mut().zip(partials.waves()) {
            *wave = ((by_sin * scale) as f32, (by_cos * scale) as f32);
        }
        Self { key, pitch, share: (peak - most).amplitude() as f32, waves }
    }
}

/// A sine made by turning a vector by the same angle with each sample.
#[derive(Debug, Clone, Copy)]
struct TurningSine {
    now: (f32, f32),
    by: (f32, f32),
}

impl TurningSine {
    fn next(&mut self) -> f32 {
        let ((re, im), (cos, sin)) = (self.now, self.by);
        self.now = (re * cos - im * sin, re * sin + im * cos);
        re
    }
}

#[derive(Debug, Clone, Copy)]
struct Voice {
    key: u8,
    down: bool,
    /// Peak of this key's tone, as a share of the largest peak that all keys together may have.
    share: f32,
    /// How far the tone has risen and not yet fallen again, 0 to 1.
    edge: f32,
    /// Whether the tone has reached its level and may fall. A pad is up again at once, and must be heard all the same.
    risen: bool,
    /// What is left of the tone's amplitude, 1 at its beginning.
    left: f32,
    sines: [TurningSine; SINES],
}

/// All keys that sound.
#[derive(Debug)]
pub struct KeyVoices {
    rate: SampleRate,
    rise: f32,
    fall: f32,
    sinking: f32,
    voices: [Option<Voice>; VOICES],
}

impl KeyVoices {
    /// Voices of which none sounds yet.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        let step = |time: Seconds| (1.0 / (time.0 * rate.per_second())) as f32;
        let sinking = 10f64.powf(-3.0 / (DYING.0 * rate.per_second())) as f32;
        Self { rate, rise: step(RISE), fall: step(FALL), sinking, voices: [None; VOICES] }
    }

    /// A key goes down.
    pub fn begin(&mut self, tone: &KeyTone) {
        self.end(Some(tone.key));
        let Some(free) = self.voices.iter_mut().find(|voice| voice.is_none()) else { return };
        let mut number = 0.0;
        let sines = tone.waves.map(|(by_sin, by_cos)| {
            number += 1.0;
            let (sin, cos) = (TAU * tone.pitch.0 * number / self.rate.per_second()).sin_cos();
            TurningSine { now: (by_cos, -by_sin), by: (cos as f32, sin as f32) }
        });
        *free = Some(Voice { key: tone.key, down: true, share: tone.share, edge: 0.0, risen: false, left: 1.0, sines });
    }

    /// A key comes up, or all do.
    pub fn end(&mut self, key: Option<u8>) {
        for voice in self.voices.iter_mut().flatten().filter(|voice| key.is_none_or(|key| voice.key == key)) {
            voice.down = false;
        }
    }

    /// The next sample of all that sounds. Where the peaks of all keys, as far as they have risen and not died away, add up to more than
    /// is allowed, all keys become softer by that ratio. The ratio moves as smoothly as keys rise and fall, so nothing clicks.
    pub fn next(&mut self) -> f32 {
        let (rise, fall, sinking) = (self.rise, self.fall, self.sinking);
        let (mut sum, mut shares) = (0.0, 0.0f32);
        for slot in &mut self.voices {
            let Some(voice) = slot else { continue };
            if !voice.risen {
                voice.edge = (voice.edge + rise).min(1.0);
                voice.risen = voice.edge >= 1.0;
            } else if !voice.down {
                voice.edge -= fall;
            }
            voice.left *= sinking;
            if voice.edge <= 0.0 || voice.left < OVER {
                *slot = None;
                continue;
            }
            let soft = voice.edge * voice.edge * (3.0 - 2.0 * voice.edge);
            let wave: f32 = voice.sines.iter_mut().map(TurningSine::next).sum();
            let left = soft * voice.left;
            sum += wave * left;
            shares += voice.share * left;
        }
        sum / shares.max(1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{A440, Midi};

    const RATE: SampleRate = SampleRate::DEVICE;

    fn tone(key: u8) -> KeyTone {
        loud_tone(key, Decibels(-18.0))
    }

    /// A tone 6 dB below `most`, the peak that all keys together may reach.
    fn loud_tone(key: u8, most: Decibels) -> KeyTone {
        KeyTone::new(key, Midi(f64::from(key)).hertz(A440), (most - Decibels(6.0), most), RATE)
    }

    fn samples(voices: &mut KeyVoices, seconds: f64) -> Vec<f32> {
        (0..RATE.samples(Seconds(seconds))).map(|_| voices.next()).collect()
    }

    fn peak(samples: &[f32]) -> f64 {
        samples.iter().fold(0.0f32, |top, sample| top.max(sample.abs())).into()
    }

    #[test]
    fn a_key_sounds_its_pitch_as_loud_as_asked_dies_and_falls_without_a_click() {
        for key in [21, 45, 60, 69, 96, 108] {
            let mut voices = KeyVoices::new(RATE);
            voices.begin(&tone(key));
            let mut heard = samples(&mut voices, 1.0);
            let top = peak(&heard);
            assert!(top <= Decibels(-24.0).amplitude() * 1.001 && top > Decibels(-27.0).amplitude(), "{key}: {top}");
            // The end of a period looks like its beginning: the wave is the same a whole number of turns later.
            let turn = RATE.per_second() / Midi(f64::from(key)).hertz(A440).0;
            let turns = (0.4 * RATE.per_second() / turn).round() * turn;
            let (from, whole, part) = (9600, turns.floor() as usize, turns.fract() as f32);
            let died = 10f32.powf(-3.0 * turns as f32 / (4.0 * 48_000.0));
            let later = |at: usize| heard[at + whole] * (1.0 - part) + heard[at + whole + 1] * part;
            let off = (from..from + 4800).map(|at| (heard[at] * died - later(at)).abs()).fold(0.0, f32::max);
            assert!(f64::from(off) < 0.03 * top, "{key}: {off} of {top}");
            voices.end(Some(key));
            let falling = samples(&mut voices, 0.1);
            assert_eq!(falling[3900..], vec![0.0; 900], "silent 80 ms after the key came up");
            heard.extend(falling);
            let edges = heard[..300].iter().chain(&heard[47_800..]);
            let steps: Vec<f32> =
                edges.copied().collect::<Vec<_>>().windows(2).map(|two| (two[1] - two[0]).abs()).collect();
            let inside = heard[9600..40_000].windows(2).map(|two| (two[1] - two[0]).abs()).fold(0.0, f32::max);
            let click =
                steps.iter().enumerate().filter(|(at, _)| *at != 299).map(|(_, step)| *step).fold(0.0, f32::max);
            assert!(click < 1.5 * inside, "{key}: {click} beside {inside}");
        }
    }

    #[test]
    fn ten_keys_sound_an_eleventh_does_not_and_a_key_that_is_held_dies_away() {
        let mut voices = KeyVoices::new(RATE);
        (60..71).for_each(|key| voices.begin(&tone(key)));
        assert!(voices.voices.iter().all(Option::is_some));
        samples(&mut voices, 6.0);
        assert!(voices.voices.iter().all(Option::is_none), "its 80 dB are over after 5.4 s");
    }

    // Levels: those of `engine/own_voice.rs`, for the loudest cue and the softest.
    #[test]
    fn ten_loud_keys_at_once_are_never_louder_than_all_may_be_and_nothing_clicks() {
        for most in [Decibels(-18.0), Decibels(-30.0)] {
            // A cluster, octaves, and a chord of both hands; all at once, and again while they fall.
            for keys in [[60, 61, 62, 63, 64, 65, 66, 67, 68, 69], [21, 33, 45, 57, 69, 81, 93, 105, 108, 96]] {
                let mut voices = KeyVoices::new(RATE);
                keys.iter().for_each(|&key| voices.begin(&loud_tone(key, most)));
                let mut heard = samples(&mut voices, 0.5);
                keys[..5].iter().for_each(|&key| voices.begin(&loud_tone(key, most)));
                heard.extend(samples(&mut voices, 0.3));
                voices.end(None);
                heard.extend(samples(&mut voices, 0.2));
                let (top, bound) = (peak(&heard), most.amplitude());
                println!("{keys:?}: {:.1} dB of {:.1}", Decibels::of_amplitude(top).0, most.0);
                assert!(top <= bound * 1.001 && top > bound * 0.25, "{keys:?}: {top} of {bound}");
                let steepest = |part: &[f32]| part.windows(2).map(|two| (two[1] - two[0]).abs()).fold(0.0, f32::max);
                let inside = steepest(&heard[4800..24_000]);
                assert!(steepest(&heard) < 2.0 * inside, "{keys:?}: a click of {} beside {inside}", steepest(&heard));
            }
        }
        // Two keys stay as loud as they are alone.
        let mut alone = KeyVoices::new(RATE);
        alone.begin(&tone(60));
        let mut both = KeyVoices::new(RATE);
        [60, 67].iter().for_each(|&key| both.begin(&tone(key)));
        let mut other = KeyVoices::new(RATE);
        other.begin(&tone(67));
        for _ in 0..4800 {
            assert!((both.next() - alone.next() - other.next()).abs() < 1e-6);
        }
    }

    #[test]
    fn a_pad_that_is_up_again_at_once_is_heard() {
        let mut voices = KeyVoices::new(RATE);
        voices.begin(&tone(60));
        voices.end(Some(60));
        let heard = samples(&mut voices, 0.09);
        assert!(peak(&heard) > Decibels(-30.0).amplitude(), "{}", peak(&heard));
        assert_eq!(heard[4200..], vec![0.0; 120]);
    }

    #[test]
    fn all_keys_come_up_together() {
        let mut voices = KeyVoices::new(RATE);
        [60, 64, 67].iter().for_each(|&key| voices.begin(&tone(key)));
        samples(&mut voices, 0.2);
        voices.end(None);
        samples(&mut voices, 0.09);
        assert_eq!(peak(&samples(&mut voices, 0.1)), 0.0);
    }
}
