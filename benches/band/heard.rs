//! What is heard of a take, by design.
use std::sync::Arc;

use earfirst::outside::cue::CueSound;
use earfirst::outside::engine::PlayerEar;
use earfirst::outside::notes::{Ear, EarSettings, NoteEvent};
use earfirst::outside::room::Echo;
use earfirst::outside::sound::{Clip, Placement, SoundBlock};
use earfirst::outside::units::{A440, Hertz, Midi, SampleRate, Seconds};

use crate::corpus::Heard;
use crate::measure::RATE;
use crate::takes::BandTake;

/// Number of samples of a block of the input.
const BLOCK: usize = 441;

/// What stands between microphone and ear.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Design {
    /// No band plays.
    Alone,
    Nothing,
    Canceller,
    Mask,
    /// As the program hears: each note is tested too.
    All,
}

impl Design {
    pub const ALL: [Self; 5] = [Self::Alone, Self::Nothing, Self::Canceller, Self::Mask, Self::All];
}

/// What was heard of a take.
pub struct TakeHeard {
    pub notes: Vec<Heard>,
    /// What the canceller left, without the mask; empty where none worked.
    pub residual: Vec<f32>,
    /// How much the band covers, dB.
    pub covers: Option<f64>,
    /// The pace of the band's clock at 5, 10, 20 and 29 s, in millionths.
    pub ppm: Vec<f64>,
}

impl TakeHeard {
    /// Echo over residual echo after the lead-in, dB: what the canceller leaves less the player and the room's noise.
    pub fn taken_out(&self, take: &BandTake, level: f64) -> Option<f64> {
        let gain = 10f64.powf(-0.05 * level) as f32;
        let microphone = take.microphone(level);
        let from = (take.lead_in * RATE) as usize;
        let (mut echo, mut left) = (0.0f64, 0.0f64);
        for ((left_over, heard), band) in self.residual.iter().zip(&microphone).zip(&take.echo).skip(from) {
            let own = heard - gain * band;
            echo += f64::from(gain * band).powi(2);
            left += f64::from(left_over - own).powi(2);
        }
        (left > 0.0).then(|| 10.0 * (echo / left).log10())
    }
}

/// Hears a take.
pub fn hear(take: &BandTake, microphone: &[f32], design: Design) -> TakeHeard {
    let notes = &take.truth.notes;
    let pitches = || notes.iter().map(|note| note.midi);
    let (low, high) = if notes.is_empty() {
        (43.0, 87.0)
    } else {
        (pitches().fold(127.0, f64::min) - 3.0, pitches().fold(0.0, f64::max) + 3.0)
    };
    let hertz = |midi: f64| Hertz(Midi(midi).hertz(A440).0);
    let settings = EarSettings { rate: SampleRate::CD, lowest: hertz(low), highest: hertz(high), a4: A440 };
    match design {
        Design::Alone | Design::Nothing => {
            TakeHeard { notes: plain(&settings, microphone), residual: Vec::new(), covers: None, ppm: Vec::new() }
        }
        Design::Canceller | Design::Mask => {
            let (sound, ppm) = cleaned(take, microphone, design == Design::Mask);
            let residual = if design == Design::Mask { Vec::new() } else { sound.clone() };
            TakeHeard { notes: plain(&settings, &sound), residual, covers: None, ppm }
        }
        Design::All => whole(take, microphone, settings),
    }
}

fn note(note: &earfirst::outside::notes::HeardNote) -> Heard {
    Heard {
        onset: note.onset.0,
        release: note.release.0,
        midi: note.pitch.0,
        known: note.announced.0,
        first: note.announced_pitch.0,
        confidence: note.confidence,
    }
}

fn plain(settings: &EarSettings, sound: &[f32]) -> Vec<Heard> {
    let (mut ear, mut notes) = (Ear::new(settings), Vec::new());
    let mut keep = |event: &NoteEvent| {
        if let NoteEvent::Off(heard) = event {
            notes.push(note(heard));
        }
    };
    for block in sound.chunks(BLOCK) {
        ear.hear(block, &mut |_| (), &mut keep);
    }
    ear.finish(&mut |_| (), &mut keep);
    notes
}

fn band(take: &BandTake) -> (CueSound, Placement) {
    let clip = Arc::new(Clip { rate: SampleRate::CD, samples: take.band.clone() });
    let (beats, clicks, notes) = (Vec::new(), Vec::new(), Vec::new());
    let sound = CueSound { end: clip.length(), clip, beat_zero: None, beats, clicks, notes };
    (sound, Placement { from: Seconds(take.late), faster: 1.0 })
}

/// What comes out of canceller and mask; what the canceller still keeps back at the end is lost.
fn cleaned(take: &BandTake, microphone: &[f32], mask: bool) -> (Vec<f32>, Vec<f64>) {
    let mut echo = if mask { Echo::new(SampleRate::CD) } else { Echo::unmasked(SampleRate::CD) };
    let (sound, place) = band(take);
    let (mut out, mut ppm) = (Vec::with_capacity(microphone.len()), Vec::new());
    for (n, block) in microphone.chunks(BLOCK).enumerate() {
        if n == 10 {
            echo.band(&sound, place, Seconds(take.lead_in));
        }
        let mut block = block.to_vec();
        echo.clean(&mut block, Seconds((n * BLOCK) as f64 / RATE));
        out.extend(block);
        if [500, 1000, 2000, 2900].contains(&n) {
            ppm.extend(echo.band_pace().map(|pace| 1e6 * pace));
        }
    }
    (out, ppm)
}

/// As the program hears.
fn whole(take: &BandTake, microphone: &[f32], settings: EarSettings) -> TakeHeard {
    let mut ear = PlayerEar::new(settings, Echo::new(SampleRate::CD));
    let (sound, place) = band(take);
    let mut notes: Vec<(u32, Heard)> = Vec::new();
    let mut enter = |event: &NoteEvent| {
        let heard = event.note();
        match notes.iter_mut().find(|it| it.0 == heard.number) {
            Some(known) => known.1 = note(heard),
            None => notes.push((heard.number, note(heard))),
        }
    };
    for (n, block) in microphone.chunks(BLOCK).enumerate() {
        if n == 10 {
            ear.band(&sound, place, Seconds(take.lead_in));
        }
        let stretch = SoundBlock { at: Seconds((n * BLOCK) as f64 / RATE), rate: SampleRate::CD, gap: Seconds(0.0) };
        ear.hear(stretch, block, &mut |_| ()).iter().for_each(&mut enter);
    }
    ear.finish().iter().for_each(&mut enter);
    let covers = ear.echo().band_covers().map(|it| it.0);
    TakeHeard { notes: notes.into_iter().map(|it| it.1).collect(), residual: Vec::new(), covers, ppm: Vec::new() }
}
