//! What is hard for an ear: wide vibrato beside trills, a strong second partial, a reed that speaks an octave low, talk.
use earfirst::outside::sound::edge;

use crate::around;
use crate::chance::Chance;
use crate::corpus::{Take, named};
use crate::measure::RATE;
use crate::sing::{Bend, Joint, Note, Stroke, Swell, sing};
use crate::source::{Source, Timbre};

/// Number of takes of each kind.
const MANY: usize = 24;

/// Part X, and a talking voice in part E.
pub fn takes(seed: u64, short: bool, all: &mut Vec<Take>) {
    let count = if short { 2 } else { MANY };
    for n in 0..count {
        for kind in ["vibrato", "trill", "second partial", "half pitch"] {
            let title = format!("X-{kind}-{n:02}");
            let chance = &mut Chance::new(seed ^ named(&title));
            let made = match kind {
                "vibrato" => vibrato(chance),
                "trill" => trill(chance),
                "second partial" => second_partial(chance),
                _ => half_pitch(chance),
            };
            if let Some((sound, notes)) = made {
                all.push(Take { name: title, part: format!("X {kind}"), sound, notes });
            }
        }
    }
    for n in 0..if short { 1 } else { 4 } {
        let sound = talk(8.0, &mut Chance::new(seed ^ named(&format!("talk {n}"))));
        all.push(Take { name: format!("E-talk-{n}"), part: "E talk".to_owned(), sound, notes: Vec::new() });
    }
}

fn sung(chance: &mut Chance) -> Timbre {
    let kind = chance.pick(&["brass", "reed", "flute", "bow", "voice", "clarinet"]);
    Timbre::draw(kind, chance)
}

/// Notes of .4 s and longer with a vibrato of 4 to 8 Hz and .5 to 1.2 half steps either way.
fn vibrato(chance: &mut Chance) -> Option<(Vec<f32>, Vec<Note>)> {
    let timbre = sung(chance);
    let mut strokes = Vec::new();
    let mut at = 0.4;
    for _ in 0..5 {
        let midi = f64::from(chance.whole(timbre.span.0 + 6, timbre.span.1 - 6));
        let length = chance.between(0.4, 1.2);
        let after = chance.between(0.0, 0.2);
        let bend = Bend {
            vibrato_hz: chance.between(4.0, 8.0),
            vibrato: chance.between(0.5, 1.2),
            vibrato_after: after,
            ..Bend::default()
        };
        strokes.push(Stroke { bend, ..Stroke::plain(at, length, midi) });
        at += length + chance.between(0.05, 0.2);
    }
    sing(&Source::Made(timbre), &strokes, Swell { hz: 5.0, db: chance.between(0.0, 1.5) }, chance)
}

/// Trills and turns of a half or a whole step, slurred, eight to sixteen notes a second.
fn trill(chance: &mut Chance) -> Option<(Vec<f32>, Vec<Note>)> {
    let timbre = sung(chance);
    let lowest = f64::from(chance.whole((timbre.span.0 + 6).max(50), timbre.span.1 - 6));
    let (step, length) = (f64::from(chance.whole(1, 2)), 0.5 / chance.between(4.0, 8.0));
    let turn = chance.happens(0.3);
    let glide = chance.between(0.008, 0.02);
    let strokes: Vec<Stroke> = (0..12)
        .map(|n| {
            let up = if turn { [0.0, step, 0.0, -1.0][n % 4] } else { [0.0, step][n % 2] };
            let joint = if n == 0 { Joint::Tongued } else { Joint::Glide(glide) };
            Stroke { joint, ..Stroke::plain(0.4 + n as f64 * length, length, lowest + up) }
        })
        .collect();
    sing(&Source::Made(timbre), &strokes, Swell::default(), chance)
}

/// Tones of 80 to 400 Hz whose second partial is lifted by 15 to 25 dB.
fn second_partial(chance: &mut Chance) -> Option<(Vec<f32>, Vec<Note>)> {
    let over = 10f64.powf(0.05 * chance.between(15.0, 25.0));
    let bow = Timbre::draw("bow", chance);
    let timbre =
        Timbre { slope: 0.6, first: 1.0, second: over, resonances: Vec::new(), even: 1.0, corner: 6000.0, ..bow };
    let root = chance.whole(40, 60);
    let strokes: Vec<Stroke> = [0, 2, 4, 5, 7]
        .into_iter()
        .enumerate()
        .map(|(n, step)| Stroke::plain(0.4 + 0.45 * n as f64, 0.38, f64::from(root + step)))
        .collect();
    sing(&Source::Made(timbre), &strokes, Swell::default(), chance)
}

/// A reed with a component at half the pitch in its attack, -8 to -18 dB at 60 ms.
fn half_pitch(chance: &mut Chance) -> Option<(Vec<f32>, Vec<Note>)> {
    let timbre = Timbre { half_db: Some(-chance.between(8.0, 18.0)), ..Timbre::draw("reed", chance) };
    let root = chance.whole(52, 55);
    let strokes: Vec<Stroke> = [0, 2, 4, 5, 3, 0]
        .into_iter()
        .enumerate()
        .map(|(n, step)| Stroke::plain(0.4 + 0.4 * n as f64, 0.35, f64::from(root + step)))
        .collect();
    sing(&Source::Made(timbre), &strokes, Swell::default(), chance)
}

/// A talking voice: syllables of 90 to 280 ms whose pitch never rests, consonants between them, pauses for breath.
pub fn talk(seconds: f64, chance: &mut Chance) -> Vec<f32> {
    let count = (seconds * RATE) as usize;
    let mut sound = vec![0.0f32; count];
    let middle = chance.between(43.0, 57.0);
    let mut t = chance.between(0.1, 0.3);
    let mut phrase = 0.0;
    while t < seconds - 0.5 {
        let length = chance.between(0.09, 0.28);
        let timbre = Timbre { rise: chance.between(0.01, 0.03), breath_db: -26.0, ..Timbre::draw("voice", chance) };
        let from = middle - 3.0 * phrase + chance.between(-2.0, 3.0);
        let (way, curl) = (chance.between(-5.0, 1.5), chance.between(-1.5, 1.5));
        let samples = (length * RATE) as usize;
        let loud = 10f64.powf(0.05 * chance.between(-12.0, 0.0));
        let curve: Vec<(f32, f32)> = (0..samples)
            .map(|n| {
                let place = n as f64 / samples as f64;
                let midi = from + way * place + curl * (std::f64::consts::PI * place).sin();
                (midi as f32, (loud * (1.0 - edge((place - 0.7) / 0.3))) as f32)
            })
            .collect();
        if chance.happens(0.7) {
            let hiss = chance.between(1500.0, 6000.0);
            let loud = 0.04 * chance.between(0.2, 1.0);
            let noise = around::band((chance.between(0.03, 0.1) * RATE) as usize, |_| hiss, 0.5 * hiss, chance);
            let at = (t * RATE) as usize;
            let last = noise.len() as f64;
            for (n, s) in noise.iter().enumerate().take(count - at) {
                let place = n as f64 / last;
                sound[at + n] += (loud * s * edge(place / 0.3) * (1.0 - edge((place - 0.7) / 0.3))) as f32;
            }
            t += 0.8 * last / RATE;
        }
        if let Some((piece, _)) = Source::Made(timbre).sound(&curve, true, chance) {
            let at = (t * RATE) as usize;
            sound[at..].iter_mut().zip(&piece).for_each(|(mine, theirs)| *mine += theirs);
        }
        t += 0.9 * length;
        phrase += 0.15;
        if chance.happens(0.12) {
            t += chance.between(0.25, 0.6);
            phrase = 0.0;
        }
    }
    sound
}
