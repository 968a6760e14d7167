use std::f64::consts::TAU;
use std::sync::Arc;

use realfft::{RealFftPlanner, RealToComplex};

use crate::notes::HeardNote;
use crate::units::{Hertz, Midi, SampleRate, Seconds};

/// Length of a look at the spectrum, and time from one to the next.
const LOOK: (Seconds, Seconds) = (Seconds(0.17), Seconds(0.05));
/// Lowest and highest tone that is looked for, in hertz: below is rumble.
const BETWEEN_HZ: (f64, f64) = (60.0, 1000.0);
/// A tone below the line is a voice where it is no more than this softer than the strongest tone, dB: a note that rings on in a room is
/// softer by the time the third one after it sounds.
const AS_LOUD: f64 = 20.0;
/// A voice below lies lower than this share of the pitch that was heard.
const BELOW: f64 = 0.94;
/// Two tones are one where they differ by no more than this share.
const SAME: f64 = 0.015;
/// Number of notes in a row under which a voice holds.
const UNDER: usize = 3;
/// A tone so near to a multiple of the mains, in hertz, is hum.
const HUM_HZ: f64 = 1.5;
/// Number of these notes at least of which the voice is no whole part: a note that is heard an octave too high has its own tone below it.
const OTHER: usize = 2;
/// Whole parts of a note's own pitch that are looked at so.
const PARTS: i32 = 6;

/// Listens for a tone that holds on below a line of notes: a bass under a melody, a string that rings on. The ear hears one line and gives
/// wrong notes there.
pub struct SecondVoice {
    rate: SampleRate,
    /// The transform of a look.
    fft: Arc<dyn RealToComplex<f32>>,
    /// The newest samples, those of a look at most.
    newest: Vec<f32>,
    /// Instant of the first sample in `newest`.
    from: Seconds,
    /// The strong tones of every look, and the middle of the look.
    looks: Vec<(Seconds, Vec<f64>)>,
}

impl SecondVoice {
    /// Nothing is heard yet, at `rate`.
    #[must_use]
    pub fn new(rate: SampleRate) -> Self {
        let fft = RealFftPlanner::new().plan_fft_forward(rate.samples(LOOK.0).max(2));
        Self { rate, fft, newest: Vec::new(), from: Seconds(0.0), looks: Vec::new() }
    }

    /// Hears the next block, of any length.
    pub fn hear(&mut self, block: &[f32]) {
        self.newest.extend_from_slice(block);
        let (size, step) = (self.fft.len(), self.rate.samples(LOOK.1).max(1));
        while self.newest.len() >= size {
            let middle = self.from + Seconds(0.5 * LOOK.0.0);
            self.looks.push((middle, self.tones(&self.newest[..size])));
            self.newest.drain(..step.min(size));
            self.from = self.from + self.rate.seconds(step.min(size));
        }
    }

    /// The tones of a stretch, in hertz: the peaks of its spectrum up to `AS_LOUD` below the strongest.
    fn tones(&self, stretch: &[f32]) -> Vec<f64> {
        let window = |n: usize| 1.0 - (TAU * (n as f64 + 0.5) / stretch.len() as f64).cos();
        let mut input: Vec<f32> = stretch.iter().enumerate().map(|(n, s)| (window(n) * f64::from(*s)) as f32).collect();
        let mut spectrum = self.fft.make_output_vec();
        if self.fft.process(&mut input, &mut spectrum).is_err() {
            return Vec::new();
        }
        let levels: Vec<f64> = spectrum.iter().map(|bin| 10.0 * f64::from(bin.norm_sqr().max(1e-20)).log10()).collect();
        let strongest = levels.iter().copied().fold(-200.0, f64::max);
        let hz = |bin: f64| bin * self.rate.per_second() / stretch.len() as f64;
        let peaks = levels.windows(3).enumerate().filter(|(_, near)| near[1] > near[0] && near[1] >= near[2]);
        let loud = peaks.filter(|(_, near)| near[1] >= strongest - AS_LOUD);
        let tones = loud.map(|(n, near)| {
            // A parabola through the three levels: its top lies between the bins.
            let beside = 0.5 * (near[0] - near[2]) / (near[0] - 2.0 * near[1] + near[2]).min(-1e-9);
            hz((n + 1) as f64 + beside.clamp(-0.5, 0.5))
        });
        tones.filter(|hz| (BETWEEN_HZ.0..=BETWEEN_HZ.1).contains(hz) && !is_hum(*hz)).collect()
    }

    /// The pitch of a voice that holds below three notes in a row or more, not all of one pitch; `None` where there is none. `a4` is the
    /// reference of the ear.
    #[must_use]
    pub fn below(&self, notes: &[HeardNote], a4: Hertz) -> Option<Midi> {
        let under: Vec<(f64, Vec<(f64, bool)>)> = notes.iter().filter_map(|note| self.under(note, a4)).collect();
        let alike = |one: f64, other: f64| (one / other - 1.0).abs() < SAME;
        for run in under.windows(UNDER) {
            let moves = run.iter().any(|note| (note.0 - run[0].0).abs() >= 0.5);
            let there = |hz: f64| run.iter().filter_map(move |note| note.1.iter().find(|other| alike(hz, other.0)));
            let holds = |hz: f64| there(hz).count() == UNDER && there(hz).filter(|tone| !tone.1).count() >= OTHER;
            if let Some(hz) = run[0].1.iter().map(|tone| tone.0).find(|hz| moves && holds(*hz)) {
                return Some(Hertz(hz).midi(a4));
            }
        }
        None
    }

    /// The pitch of a note, and the tones that hold below it from its beginning to its end, in hertz, with whether a tone is a whole part of
    /// the note; `None` for a note that is too short for a look.
    fn under(&self, note: &HeardNote, a4: Hertz) -> Option<(f64, Vec<(f64, bool)>)> {
        let inside = note.onset + Seconds(0.4 * LOOK.0.0)..=note.release - Seconds(0.4 * LOOK.0.0);
        let from = self.looks.partition_point(|look| look.0 < *inside.start());
        let looks: Vec<&Vec<f64>> =
            self.looks[from..].iter().take_while(|look| inside.contains(&look.0)).map(|look| &look.1).collect();
        let own = note.pitch.hertz(a4).0;
        let part = |hz: f64| (2..=PARTS).any(|n| (own / (f64::from(n) * hz) - 1.0).abs() < SAME);
        let always = |hz: f64| looks.iter().all(|look| look.iter().any(|other| (hz / other - 1.0).abs() < SAME));
        let tones = looks.first()?.iter().copied().filter(|hz| *hz < BELOW * own && always(*hz));
        Some((note.pitch.0, tones.map(|hz| (hz, part(hz))).collect()))
    }
}

/// Whether a frequency is that of the mains, of 50 or 60 hertz, or of one of its lower harmonics.
fn is_hum(hz: f64) -> bool {
    [50.0, 60.0].iter().any(|mains| {
        let nearest = (hz / mains).round();
        nearest <= 6.0 && (hz - mains * nearest).abs() < HUM_HZ
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{A440, Cents, Decibels};

    /// Five notes of .3 s over a tone of so many hertz and this share of their strength, each also sounding on, softer by 30 dB a second;
    /// the voice below that is found.
    fn found(below_hz: f64, share: f64) -> Option<f64> {
        let rate = SampleRate::DEVICE;
        let pitches = [64.0, 65.0, 67.0, 65.0, 64.0];
        let tone = |hz: f64, t: f64| (1..4).map(|n| (TAU * hz * f64::from(n) * t).sin() / f64::from(n)).sum::<f64>();
        let notes: Vec<HeardNote> = (0..).zip(pitches).map(|(number, pitch)| note(number, pitch)).collect();
        let sound: Vec<f32> = (0..rate.samples(Seconds(1.8)))
            .map(|n| {
                let t = n as f64 / rate.per_second();
                let line = notes.iter().filter(|note| note.onset.0 <= t).map(|note| {
                    let dies = 10_f64.powf(-1.5 * (t - note.release.0).max(0.0));
                    dies * tone(note.pitch.hertz(A440).0, t)
                });
                (0.1 * (line.sum::<f64>() + share * tone(below_hz, t))) as f32
            })
            .collect();
        let mut voice = SecondVoice::new(rate);
        sound.chunks(512).for_each(|block| voice.hear(block));
        voice.below(&notes, A440).map(|pitch| pitch.0.round())
    }

    fn note(number: u32, pitch: f64) -> HeardNote {
        let onset = Seconds(0.1 + 0.31 * f64::from(number));
        HeardNote {
            number,
            onset,
            release: onset + Seconds(0.3),
            pitch: Midi(pitch),
            spread: Some(Cents(1.0)),
            loudness: Decibels(-20.0),
            confidence: 0.9,
            announced: onset,
            announced_pitch: Midi(pitch),
        }
    }

    #[test]
    fn a_bass_that_holds_under_a_melody_is_found_and_a_room_that_rings_is_none() {
        // C3 by equal temperament: 130.81 Hz.
        assert_eq!(found(130.81, 1.0), Some(48.0));
        assert_eq!(found(130.81, 0.0), None, "each note rings on in the room");
        assert_eq!(found(100.0, 1.0), None, "mains hum is no voice");
    }
}
