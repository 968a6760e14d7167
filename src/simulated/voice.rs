use std::f64::consts::TAU;

use crate::simulated::chance::PlayerDraws;
use crate::simulated::intent::PlayedNote;
use crate::simulated::timbre::Timbre;
use crate::sound::{Clip, edge};
use crate::units::{Cents, Decibels, Hertz, Midi, SampleRate, Seconds};

/// Peak level of an ordinary note.
const USUAL: Decibels = Decibels(-15.0);
/// How long two slurred notes overlap, seconds.
const SLUR: f64 = 0.012;
/// Silence before the first attack and after the last note, seconds.
const PAD: f64 = 0.03;
/// At this share of a raised-cosine rise the level has come within 20 dB of the note's own; an onset is counted from there.
const FELT: f64 = 0.2;

/// A performance to be sounded.
pub(super) struct Performed<'a> {
    /// The notes, in order of onset.
    pub notes: &'a [PlayedNote],
    /// The timbre in which the performance sounds.
    pub timbre: Timbre,
    /// The reference pitch.
    pub a4: Hertz,
    /// The player's general offset from the reference pitch.
    pub centre: Cents,
}

/// Sounds a performance; the second value is where the clip begins, on the clock of the notes.
pub(super) fn sing(performed: &Performed, rate: SampleRate, chance: &mut PlayerDraws) -> (Clip, Seconds) {
    let shape = performed.timbre.shape();
    let (Some(first), Some(last)) = (performed.notes.first(), performed.notes.last()) else {
        return (Clip::silence(rate, Seconds(0.1)), Seconds(0.0));
    };
    let from = first.at - FELT * shape.rise.0 - PAD;
    let end = last.at + last.length + shape.fall.0 + PAD;
    let mut clip = Clip::silence(rate, Seconds(end - from));
    let mut phase = 0.0;
    for (index, note) in performed.notes.iter().enumerate() {
        let next_slurred = performed.notes.get(index + 1).is_some_and(|next| next.slurred);
        phase = sound_note(performed, note, next_slurred, from, phase, &mut clip, chance);
    }
    (clip, Seconds(from))
}

/// How the level of one note goes: its rise and fall, on the clock of the notes.
struct Swell {
    up_from: f64,
    up: f64,
    down_from: f64,
    down: f64,
}

impl Swell {
    fn at(&self, time: f64) -> f64 {
        edge((time - self.up_from) / self.up) * (1.0 - edge((time - self.down_from) / self.down))
    }
}

/// Adds one note to the clip and returns the phase at which the next may go on.
fn sound_note(
    performed: &Performed,
    note: &PlayedNote,
    joined_on: bool,
    from: f64,
    phase: f64,
    clip: &mut Clip,
    chance: &mut PlayerDraws,
) -> f64 {
    let (shape, rate) = (performed.timbre.shape(), clip.rate);
    let slurred = note.slurred && shape.slurs;
    let swell = Swell {
        up_from: note.at - if slurred { 0.5 * SLUR } else { FELT * shape.rise.0 },
        up: if slurred { SLUR } else { shape.rise.0 },
        down_from: note.at + note.length - if joined_on && shape.slurs { 0.5 * SLUR } else { 0.0 },
        down: if joined_on && shape.slurs { SLUR } else { shape.fall.0 },
    };
    let base = Midi(f64::from(note.pitch.0) + (performed.centre.0 + note.cents) / 100.0).hertz(performed.a4);
    let partials = performed.timbre.partials(base, rate);
    let peak = (USUAL + Decibels(note.accent_db)).amplitude() / partials.peak();
    let air = (USUAL + Decibels(note.accent_db + shape.breath_db)).amplitude();
    let scoop = if slurred { 0.0 } else { shape.scoop_cents * chance.even() };
    let (vibrato_hz, width) = (chance.between(5.3, 6.6), shape.vibrato_cents * chance.between(0.5, 1.0));
    let width = if note.length > 0.3 { width } else { 0.0 };
    let start = rate.samples(Seconds(swell.up_from - from));
    let stop = rate.samples(Seconds(swell.down_from + swell.down - from)).min(clip.samples.len());
    let mut phase = if slurred { phase } else { chance.even() };
    let (mut breath, mut handed_on) = (0.0, phase);
    for index in start..stop {
        let time = from + index as f64 / rate.per_second();
        let into = time - note.at;
        let waver = width * edge((into - 0.12) / 0.15) * (TAU * vibrato_hz * into).sin();
        let cents = waver - scoop * (-into.max(0.0) / 0.03).exp();
        phase += base.0 * (cents / 1200.0).exp2() / rate.per_second();
        let dying = shape.dying.map_or(1.0, |sixty| 10f64.powf(-3.0 * into.max(0.0) / sixty.0));
        // Air is darker than white noise: a one-pole low-pass, its loss made good.
        breath += 0.4 * (2.0 * chance.even() - 1.0 - breath);
        let level = swell.at(time) * dying;
        clip.samples[index] += (level * (peak * partials.value(phase) + 2.0 * air * breath)) as f32;
        if time <= note.at + note.length {
            handed_on = phase;
        }
    }
    handed_on
}
