//! A draw of the corpus: sound with exact truth, part by part.
//!
//! Part A: lines of single notes, slurred and tongued, fast and slow. B: the same of recorded notes, where a folder of them is
//! named. P: as played, several notes in one breath, in a room. F: one line, ever faster. D: some of A degraded. E: sound without a
//! note. X: what is hard for an ear (`hard.rs`).
use std::path::Path;

use earfirst::outside::notes::{Ear, EarSettings, NoteEvent, Rules};
use earfirst::outside::units::{A440, Hertz, SampleRate};

use crate::around;
use crate::chance::Chance;
use crate::hard;
use crate::recorded;
use crate::sing::{Bend, Joint, Note, Stroke, Swell, sing};
use crate::source::{KINDS, Source, Timbre};

/// One piece of sound and what truly sounded in it.
#[derive(Debug, Clone)]
pub struct Take {
    pub name: String,
    pub part: String,
    pub sound: Vec<f32>,
    pub notes: Vec<Note>,
}

/// A note as it was heard: seconds and MIDI numbers.
#[derive(Debug, Clone, Copy)]
pub struct Heard {
    pub onset: f64,
    pub release: f64,
    pub midi: f64,
    /// When the note was first told, and with which pitch.
    pub known: f64,
    pub first: f64,
    pub confidence: f64,
}

/// What the corpus is made from.
#[derive(Debug, Clone, Default)]
pub struct Sounds<'a> {
    pub font: Option<&'a Path>,
    pub recorded: Option<&'a Path>,
    /// Lines of one length only, and few of the rest.
    pub short: bool,
}

/// Lengths of a note in parts A and B, seconds.
const LENGTHS: [f64; 5] = [0.5, 0.25, 0.15, 0.1, 0.075];
/// Lengths of a note in part F, seconds.
const FASTER: [f64; 6] = [0.2, 0.12, 0.075, 0.06, 0.05, 0.04];
/// Silence before the first note, seconds.
const LEAD: f64 = 0.4;

/// What an ear hears in a sound.
pub fn hear(sound: &[f32], rules: &Rules) -> Vec<Heard> {
    let settings = EarSettings { rate: SampleRate::CD, lowest: Hertz(27.0), highest: Hertz(4300.0), a4: A440 };
    let (mut ear, mut notes) = (Ear::with_rules(&settings, rules), Vec::new());
    let mut keep = |event: &NoteEvent| {
        if let NoteEvent::Off(note) = event {
            notes.push(Heard {
                onset: note.onset.0,
                release: note.release.0,
                midi: note.pitch.0,
                known: note.announced.0,
                first: note.announced_pitch.0,
                confidence: note.confidence,
            });
        }
    };
    for block in sound.chunks(512) {
        ear.hear(block, &mut |_| (), &mut keep);
    }
    ear.finish(&mut |_| (), &mut keep);
    notes
}

/// Makes all takes of a seed.
pub fn draw(seed: u64, sounds: &Sounds<'_>) -> Vec<Take> {
    let mut all = Vec::new();
    for (name, source) in instruments(seed, sounds) {
        lines(seed, "A", &name, &source, sounds.short, &mut all);
        played(seed, &name, &source, sounds.short, &mut all);
        if ["brass", "reed", "flute", "trumpet", "altosax", "clarinet"].contains(&name.as_str()) {
            faster(seed, &name, &source, &mut all);
        }
    }
    for (name, source) in sounds.recorded.map(recorded::folder).unwrap_or_default() {
        lines(seed, "B", &name, &source, sounds.short, &mut all);
        played(seed, &name, &source, sounds.short, &mut all);
    }
    let chance = &mut Chance::new(seed ^ 0xD);
    let plain: Vec<usize> = (0..all.len()).filter(|n| all[*n].part == "A" && all[*n].notes.len() > 8).collect();
    for n in chance.some(&plain, if sounds.short { 1 } else { 12 }) {
        for (kind, sound) in around::degraded(&all[n].sound, chance) {
            let (name, notes) = (format!("D-{kind}-{}", all[n].name), all[n].notes.clone());
            all.push(Take { name, part: format!("D {kind}"), sound, notes });
        }
    }
    for (kind, sound) in around::silent(chance) {
        all.push(Take { name: format!("E-{kind}"), part: "E".to_owned(), sound, notes: Vec::new() });
    }
    hard::takes(seed, sounds.short, &mut all);
    all
}

/// A small draw, for a test: two instruments, what is hard, what is no note.
pub fn few(seed: u64) -> Vec<Take> {
    let mut all = Vec::new();
    for kind in ["brass", "reed"] {
        let source = Source::Made(Timbre::draw(kind, &mut Chance::new(seed ^ named(kind))));
        lines(seed, "A", kind, &source, true, &mut all);
        played(seed, kind, &source, true, &mut all);
    }
    for (kind, sound) in around::silent(&mut Chance::new(seed ^ 0xE)) {
        all.push(Take { name: format!("E-{kind}"), part: "E".to_owned(), sound, notes: Vec::new() });
    }
    hard::takes(seed, true, &mut all);
    all
}

/// One source of every kind of made tone, or the instruments of a sound font and a made voice.
fn instruments(seed: u64, sounds: &Sounds<'_>) -> Vec<(String, Source)> {
    let made = |kind: &&str| {
        let chance = &mut Chance::new(seed ^ named(kind));
        (kind.to_string(), Source::Made(Timbre::draw(kind, chance)))
    };
    let Some(font) = sounds.font else { return KINDS.iter().map(made).collect() };
    let mut all = recorded::font(font, &recorded::JUDGED);
    all.push(made(&"voice"));
    all
}

/// A number made of a name (FNV-1a; Fowler, Noll and Vo), so that every take has random numbers of its own.
pub fn named(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x100_0000_01b3))
}

/// The notes of a line of this kind, in half steps above its lowest note.
pub fn shape(kind: &str, chance: &mut Chance) -> Vec<i32> {
    match kind {
        "half steps" => vec![0, 1, 2, 3, 4, 3, 2, 1, 0],
        "scale" => vec![0, 2, 4, 5, 7, 9, 11, 12, 11, 9, 7, 5, 4, 2, 0],
        "again" => vec![0, 0, 0, 2, 2, 4, 4, 4, 5, 5, 0],
        _ => chance
            .pick(&[[0, 4, 7, 11], [0, 4, 7, 10], [0, 3, 7, 10], [0, 3, 6, 9]])
            .into_iter()
            .chain([7, 4, 0])
            .collect(),
    }
}

/// Parts A and B: every length, slurred and tongued, in three registers, detuned by up to half a half step.
fn lines(seed: u64, part: &str, name: &str, source: &Source, short: bool, all: &mut Vec<Take>) {
    let (low, high) = source.span();
    for (d, length) in LENGTHS.into_iter().enumerate().filter(|(d, _)| !short || *d == 1) {
        for (k, kind) in ["half steps", "half steps", "scale", "chord", "again"].into_iter().enumerate() {
            let slurred = [true, false, d % 2 == 0, d % 2 == 1, false][k];
            let title = format!(
                "{part}-{name}-{kind}-{:03.0}-{}",
                1000.0 * length,
                ["tongued", "slurred"][usize::from(slurred)]
            );
            let chance = &mut Chance::new(seed ^ named(&title));
            let (steps, third) = (shape(kind, chance), ((d + k) % 3) as i32);
            let room = (high - low - 12).max(0);
            let cents = chance.pick(&[0.0, 0.0, -0.5, -0.35, -0.2, -0.1, 0.1, 0.2, 0.35, 0.5]);
            // Where an instrument lacks a note or is too slow for the pace, another key may do.
            let line = (0..6).find_map(|_| {
                let root = low + room * third / 3 + chance.whole(0, room / 3);
                let pitches: Vec<f64> = steps.iter().map(|step| f64::from(root + step) + cents).collect();
                assembled(source, &pitches, length, slurred, 0.45, chance)
            });
            if let Some((sound, notes)) = line {
                all.push(Take { name: title, part: part.to_owned(), sound, notes });
            }
        }
    }
}

/// Sounds notes of one length one after the other. `None` where the source lacks a note, or takes a larger share of the length than
/// `speak` until the note has spoken.
fn assembled(
    source: &Source,
    pitches: &[f64],
    length: f64,
    slurred: bool,
    speak: f64,
    chance: &mut Chance,
) -> Option<(Vec<f32>, Vec<Note>)> {
    let mut strokes = Vec::new();
    for (n, midi) in pitches.iter().enumerate() {
        let joined = slurred && n > 0;
        if !joined && source.speaks_in(*midi)? > speak * length {
            return None;
        }
        let held = if slurred || source.rings() { 1.0 } else { 0.88 };
        let joint = if joined { Joint::Cross } else { Joint::Tongued };
        let accent = chance.between(-2.5, 2.5);
        strokes.push(Stroke { joint, accent, ..Stroke::plain(LEAD + n as f64 * length, held * length, *midi) });
    }
    sing(source, &strokes, Swell::default(), chance)
}

/// Part F: one line, ever faster, tongued and slurred.
fn faster(seed: u64, name: &str, source: &Source, all: &mut Vec<Take>) {
    let (low, high) = source.span();
    let root = f64::from((low + high) / 2 - 4);
    let pitches: Vec<f64> =
        [0, 1, 2, 3, 4, 3, 2, 1, 0, 2, 4, 5, 7, 5, 4, 2, 0].iter().map(|step| root + f64::from(*step)).collect();
    for length in FASTER {
        for slurred in [false, true] {
            let title = format!("F-{name}-{:03.0}-{slurred}", 1000.0 * length);
            let line = assembled(source, &pitches, length, slurred, 0.8, &mut Chance::new(seed ^ named(&title)));
            if let Some((sound, notes)) = line {
                all.push(Take { name: title, part: format!("F {:.0} ms", 1000.0 * length), sound, notes });
            }
        }
    }
}

/// Part P: two to five notes (of .72 s together at most) in a breath with gliding pitch, scoops, a swell, vibrato on long notes; a room;
/// in two of three hardly any silence before.
fn played(seed: u64, name: &str, source: &Source, short: bool, all: &mut Vec<Take>) {
    let (low, high) = source.span();
    if source.rings() {
        return;
    }
    for length in [0.3, 0.22, 0.16, 0.12].into_iter().take(if short { 1 } else { 4 }) {
        for kind in ["half steps", "scale", "chord"] {
            let title = format!("P-{name}-{kind}-{:03.0}", 1000.0 * length);
            let chance = &mut Chance::new(seed ^ named(&title));
            let steps = shape(kind, chance);
            let line = (0..8).find_map(|_| {
                let root = chance.whole(low, (high - 12).max(low));
                in_breaths(source, &steps, root, length, chance)
            });
            let Some((sound, notes)) = line else { continue };
            let (reverberation, direct) = (chance.between(0.4, 0.9), chance.between(8.0, 16.0));
            let mut sound = around::in_room(&sound, reverberation, direct, chance);
            let noise = around::level(&sound) * 10f64.powf(-0.05 * chance.between(30.0, 45.0));
            let hiss = around::pink(sound.len(), chance);
            around::add(&mut sound, &hiss, noise);
            all.push(Take { name: title, part: "P".to_owned(), sound, notes });
        }
    }
}

fn in_breaths(
    source: &Source,
    steps: &[i32],
    root: i32,
    length: f64,
    chance: &mut Chance,
) -> Option<(Vec<f32>, Vec<Note>)> {
    let mut at = chance.pick(&[0.02, 0.05, 0.4]);
    let mut strokes: Vec<Stroke> = Vec::new();
    let mut left = 0;
    for step in steps {
        let midi = f64::from(root + step);
        let begins = left == 0;
        if begins {
            left = chance.whole(2, 5).min((0.72 / length) as i32).max(1);
            at += if strokes.is_empty() { 0.0 } else { chance.between(0.0, 0.05) };
            if source.speaks_in(midi)? > 0.6 * length {
                return None;
            }
        }
        left -= 1;
        let joint = if begins { Joint::Tongued } else { Joint::Glide(chance.between(0.012, 0.04)) };
        let scooped = begins && chance.happens(0.4);
        let bend = Bend {
            scoop: if scooped { -chance.between(0.3, 0.9) } else { 0.0 },
            scoop_s: if scooped { 0.03 } else { 0.0 },
            vibrato_hz: 5.5,
            vibrato: if length > 0.27 { 0.2 } else { 0.0 },
            vibrato_after: 0.12,
            fall: 0.0,
        };
        strokes.push(Stroke { joint, bend, ..Stroke::plain(at, length, midi) });
        at += length;
    }
    let swell = Swell { hz: 0.5 / length, db: chance.between(-3.0, 3.0) };
    sing(source, &strokes, swell, chance)
}
