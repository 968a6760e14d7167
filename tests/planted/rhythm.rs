//! Right notes in another rhythm than the asked one, played as people play.

use earfirst::outside::pattern::{Line, Pattern, RhythmFeature};

use super::cases::{Case, Planted};
use super::manner::{Manner, Take};
use crate::chance::Chance;

pub const KINDS: [&str; 7] = [
    "even for its own rhythm",
    "rhythm 3-3-2",
    "rhythm of a charleston",
    "dotted for even",
    "triplets for eighths",
    "a rest left out",
    "an off-beat begun on the beat",
];
/// No two onsets are nearer than this, seconds.
const NEAREST: f64 = 0.11;

pub fn case(kind: &str, chance: &mut Chance, tempo: f64, manner: Manner) -> Case {
    // The sixteenth of a dotted eighth is nearer than two onsets may be at a quarter = 144.
    let tempo = if kind == "dotted for even" { tempo.min(120.0) } else { tempo };
    let beat = 60.0 / tempo;
    let wanted = |line: &Line| {
        let asked = asked(line);
        let dense = distances(&played(kind, &asked)).into_iter().all(|apart| apart * beat >= NEAREST);
        dense && fits(kind, line, &asked)
    };
    let of = |pattern: &Pattern| of(kind, pattern);
    let mut take = Take::drawn_of(chance, tempo, (5, 12), false, manner, (&of, &wanted));
    let (from, mut to) = (asked(&take.asked.line), played(kind, &asked(&take.asked.line)));
    if kind == "an off-beat begun on the beat" && chance.happens(0.5) {
        to = from.iter().map(|at| at - 0.5).collect();
    }
    for n in 0..to.len() {
        let stroke = take.places[n].as_mut().unwrap();
        let (was, now) = [&from, &to].map(|places| places.get(n + 1).map_or(1.0, |next| next - places[n])).into();
        stroke.at += beat * (to[n] - from[n]);
        stroke.length = (stroke.length * now / was).min(beat * now).max(0.06);
    }
    Case { take, planted: vec![Planted::Rhythm] }
}

fn asked(line: &Line) -> Vec<f64> {
    line.notes.iter().map(|note| note.at.0).collect()
}

fn distances(places: &[f64]) -> Vec<f64> {
    places.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

/// Where the notes of a line come in the other rhythm, beats.
fn played(kind: &str, asked: &[f64]) -> Vec<f64> {
    let over_and_over = |figure: &[f64]| {
        let mut at = asked[0];
        let place = |n: usize| {
            let here = at;
            at += figure[n % figure.len()];
            here
        };
        (0..asked.len()).map(place).collect::<Vec<f64>>()
    };
    match kind {
        "even for its own rhythm" => over_and_over(&[0.5]),
        "rhythm 3-3-2" => over_and_over(&[0.75, 0.75, 0.5]),
        "rhythm of a charleston" => over_and_over(&[1.5, 2.5]),
        "dotted for even" => over_and_over(&[0.75, 0.25]),
        "triplets for eighths" => over_and_over(&[1.0 / 3.0]),
        "a rest left out" => {
            // The longest distance of the line becomes what most others are.
            let apart = distances(asked);
            let mut sorted = apart.clone();
            sorted.sort_by(f64::total_cmp);
            let usual = sorted[sorted.len() / 2];
            let longest = (0..apart.len()).max_by(|a, b| apart[*a].total_cmp(&apart[*b])).unwrap();
            let out = apart[longest] - usual;
            asked.iter().enumerate().map(|(n, at)| if n > longest { at - out } else { *at }).collect()
        }
        _ => asked.iter().enumerate().map(|(n, at)| if n == 0 { at - 0.5 } else { *at }).collect(),
    }
}

/// Whether a pattern can have such lines at all; one that is asked swung in the drill is asked straight here.
fn of(kind: &str, pattern: &Pattern) -> bool {
    let has = |rhythm: RhythmFeature| pattern.rhythm().contains(&rhythm);
    match kind {
        "even for its own rhythm" => {
            has(RhythmFeature::LongAndShort) || has(RhythmFeature::Rests) || has(RhythmFeature::OffBeats)
        }
        "a rest left out" => has(RhythmFeature::Rests),
        "an off-beat begun on the beat" => pattern.notes().first().is_some_and(|step| step.at.0 > 0),
        _ => has(RhythmFeature::Even),
    }
}

fn fits(kind: &str, line: &Line, asked: &[f64]) -> bool {
    let apart = distances(asked);
    let even = apart[..apart.len() - 1].iter().all(|it| (it - 0.5).abs() < 1e-6);
    match kind {
        "even for its own rhythm" => {
            // A line of one distance has no rhythm of its own: played at another distance it is at another pace.
            let mut sorted = apart.clone();
            sorted.sort_by(f64::total_cmp);
            let middle = sorted[sorted.len() / 2];
            let own = apart.iter().filter(|it| **it > 1.3 * middle || 1.3 * **it < middle).count();
            3 * own >= apart.len()
        }
        "a rest left out" => {
            let mut sorted = apart.clone();
            sorted.sort_by(f64::total_cmp);
            let usual = sorted[sorted.len() / 2];
            (0..apart.len()).any(|n| {
                apart[n] >= sorted[sorted.len() - 1] - 1e-6
                    && apart[n] >= usual + 0.5
                    && apart[n] > line.notes[n].length.0 + 0.4
            })
        }
        "an off-beat begun on the beat" => (asked[0] - asked[0].floor() - 0.5).abs() < 1e-6,
        _ => even && (asked[0] - asked[0].round()).abs() < 1e-6,
    }
}
