//! Generated answers with planted faults, each with its truth, in the form that `grade --json-lines` reads. There are 27 kinds at two
//! levels; the second has looser onsets and pitches, shorter notes, and by-products of playing that look like notes.
//!
//! A fault is planted only where a listener can tell it. So no note is left out that has the pitch of its neighbours, and no note is put
//! in that has the pitch of a neighbour.

use serde_json::{Value, json};

use crate::chance::Chance;

/// Every kind of answer.
pub const KINDS: [&str; 27] = [
    "clean",
    "octave",
    "wrongkey",
    "detune",
    "tempo",
    "swing",
    "rubato",
    "sub",
    "octave1",
    "missed",
    "first_missed",
    "extra",
    "scoop",
    "overblow",
    "ghost",
    "split",
    "merged",
    "truncated",
    "junk",
    "restart",
    "restart_key",
    "sub2",
    "missed2",
    "other",
    "mix2",
    "mix3",
    "mix4",
];
/// The faults of the whole answer; below are the faults of single notes, in the order in which they are planted.
const WHOLE: [&str; 6] = ["octave", "wrongkey", "detune", "tempo", "swing", "rubato"];
const MIXED: [&str; 11] =
    ["sub", "octave1", "missed", "extra", "scoop", "overblow", "ghost", "split", "merged", "junk", "restart"];

/// `each` cases of every kind.
pub fn cases(seed: u64, each: u64, level: usize) -> Vec<Value> {
    let kinds = KINDS.iter().enumerate();
    let numbered = kinds.flat_map(|(place, kind)| (0..each).map(move |n| (place as u64, *kind, n)));
    numbered.map(|(place, kind, n)| case(kind, ((seed * 64 + place) * 4096 + n) * 2 + level as u64, level)).collect()
}

fn case(kind: &str, seed: u64, level: usize) -> Value {
    let mut chance = Chance::new(seed);
    let faults: Vec<&str> = match kind {
        "clean" | "other" => Vec::new(),
        "sub2" => vec!["sub"; 2],
        "missed2" => vec!["missed"; 2],
        "mix2" => mixed(2, &mut chance),
        "mix3" => mixed(3, &mut chance),
        "mix4" => mixed(4, &mut chance),
        one => vec![one],
    };
    let repeats = match kind {
        "split" => Some(false),
        _ => faults.contains(&"merged").then_some(true),
    };
    let mut take = Take::new(repeats, level, chance);
    faults.iter().for_each(|fault| take.plan(fault));
    take.play();
    match kind {
        "other" => take.something_else(),
        _ => faults.iter().for_each(|fault| take.plant(fault)),
    }
    let kinds: Vec<&str> = if kind.starts_with("mix") { [&[kind][..], &faults[..]].concat() } else { vec![kind] };
    take.written(&format!("{kind}-{seed}"), &kinds)
}

/// Draws `count` different faults, at most one of them a fault of the whole answer.
fn mixed(count: usize, chance: &mut Chance) -> Vec<&'static str> {
    let mut faults = if chance.happens(0.5) { chance.some(&WHOLE, 1) } else { Vec::new() };
    let more = chance.some(&MIXED, count - faults.len());
    faults.extend(MIXED.iter().filter(|fault| more.contains(fault)));
    faults
}

/// Draws a line, in half steps from its first note.
pub fn line(chance: &mut Chance) -> Vec<i32> {
    let degree = |step: i32| [0, 2, 4, 5, 7, 9, 11][step.rem_euclid(7) as usize] + 12 * step.div_euclid(7);
    let mut line: Vec<i32> = match chance.whole(0, 5) {
        // Up a scale and some way back.
        0 => {
            let notes = chance.whole(5, 12);
            let up = chance.whole(3, notes - 1);
            (0..up).chain((2 * up - notes - 1..=up - 2).rev()).map(degree).collect()
        }
        // Threes or fours up the scale.
        1 => {
            let (group, starts) = (chance.whole(3, 4), chance.whole(2, 3));
            (0..starts).flat_map(|start| (start..start + group).map(degree)).collect()
        }
        // Half steps.
        2 => {
            let (notes, direction, back) = (chance.whole(4, 9), chance.pick(&[1, -1]), chance.whole(0, 3));
            (0..notes).chain((1..notes - 1).rev().take(back as usize)).map(|step| direction * step).collect()
        }
        // A seventh chord, up and perhaps down again.
        3 => {
            let chord = chance.pick(&[[0, 4, 7, 11], [0, 4, 7, 10], [0, 3, 7, 10], [0, 3, 6, 10], [0, 3, 6, 9]]);
            let down = chord.iter().rev().copied();
            if chance.happens(0.6) { chord.into_iter().chain([12]).chain(down).collect() } else { chord.to_vec() }
        }
        // Chord tones, each gone round from above and below.
        4 => {
            let targets = chance.whole(1, 3) as usize;
            [0].into_iter().chain([4, 7, 9][..targets].iter().flat_map(|to| [to + 1, to - 1, *to])).collect()
        }
        // Notes that come twice.
        _ => {
            let steps = chance.whole(3, 6) as usize;
            let each = [0, 2, 4, 7, 9, 12].into_iter().take(steps);
            let mut line: Vec<i32> = each.flat_map(|step| vec![step; chance.whole(1, 2) as usize]).collect();
            if line.windows(2).all(|pair| pair[0] != pair[1]) {
                line.insert(1, line[0]);
            }
            line
        }
    };
    line.truncate(16);
    line
}

/// A note as it is played; `place` is the expected note it stands for.
#[derive(Debug, Clone)]
pub struct Sounded {
    pub on: f64,
    pub off: f64,
    pub pitch: f64,
    pub sure: f64,
    pub place: Option<usize>,
    pub label: &'static str,
}

/// An answer in the making.
pub struct Take {
    pub chance: Chance,
    pub loose: bool,
    pub pitches: Vec<i32>,
    /// Where each note is due, in quarters; below, where this player puts it.
    beats: Vec<f64>,
    pub put: Vec<f64>,
    tempo: f64,
    pace: f64,
    pub click: bool,
    cue_end: f64,
    /// When the answer is due, in seconds; below, how much later it begins.
    pub due: f64,
    pub began: f64,
    pub tuning: f64,
    shift: i32,
    pub attempts: u32,
    pub related: bool,
    pub labels: Vec<&'static str>,
    pub notes: Vec<Sounded>,
}

impl Take {
    /// An answer before anything is planted in it. `repeats` says whether somewhere in its line two neighbours have the same pitch; `None`
    /// leaves that open.
    fn new(repeats: Option<bool>, level: usize, mut chance: Chance) -> Self {
        let steps = loop {
            let steps = line(&mut chance);
            let twice = steps.windows(2).any(|pair| pair[0] == pair[1]);
            if repeats.is_none_or(|wanted| wanted == twice) {
                break steps;
            }
        };
        let root = chance.whole(50, 72);
        let beats: Vec<f64> = (0..steps.len()).map(|n| 0.5 * n as f64).collect();
        let tempo = chance.pick(&[60.0, 72.0, 84.0, 96.0, 112.0, 126.0, 144.0, 168.0, 192.0]);
        let click = chance.happens(0.4);
        let cue_end = chance.between(1.5, 4.0);
        let due = cue_end + if click { 60.0 / tempo } else { 0.0 };
        let thought = (chance.normal(0.5) - 0.3).exp().clamp(0.2, 3.0);
        let began = if click { chance.normal(0.03) } else { thought };
        let labels = vec!["right"; steps.len()];
        let pitches: Vec<i32> = steps.iter().map(|step| root + step).collect();
        let (put, tuning) = (beats.clone(), chance.normal(0.10));
        Self {
            loose: level == 2,
            pace: 1.0,
            shift: 0,
            attempts: 1,
            related: true,
            notes: Vec::new(),
            chance,
            pitches,
            beats,
            put,
            tempo,
            click,
            cue_end,
            due,
            began,
            tuning,
            labels,
        }
    }

    /// Plants a fault of the whole answer, before its notes are made.
    fn plan(&mut self, fault: &str) {
        let sign = f64::from(self.chance.pick(&[1, -1]));
        match fault {
            "octave" => self.shift = 12 * sign as i32,
            "wrongkey" => self.shift = sign as i32 * self.chance.whole(1, 6),
            "detune" => self.tuning = sign * self.chance.between(0.25, if self.loose { 0.45 } else { 0.40 }),
            "tempo" => {
                self.free();
                self.pace = self.chance.between(0.55, 1.5);
            }
            "swing" => self.put.iter_mut().filter(|at| at.fract() > 0.4).for_each(|at| *at += 1.0 / 6.0),
            "rubato" => {
                self.free();
                let (mut at, mut breadth) = (0.0, 1.0);
                for n in 1..self.put.len() {
                    breadth *= self.chance.normal(0.12).exp();
                    at += breadth * (self.beats[n] - self.beats[n - 1]);
                    self.put[n] = at;
                }
            }
            _ => {}
        }
    }

    /// Makes this a free answer, as one at another pace has to be.
    fn free(&mut self) {
        self.click = false;
        self.due = self.cue_end;
        self.began = self.began.max(0.25);
    }

    pub fn beat(&self) -> f64 {
        60.0 / (self.tempo * self.pace)
    }

    /// Makes the notes of the line as this player plays them, without faults of single notes.
    fn play(&mut self) {
        let (jitter, shortest, spread, least) =
            if self.loose { (0.03, 0.45, 0.11, 0.45) } else { (0.012, 0.8, 0.06, 0.75) };
        let (start, beat, count) = (self.due + self.began, self.beat(), self.pitches.len());
        for place in 0..count {
            let wobble = if place == 0 { 0.0 } else { self.chance.normal(jitter) };
            let on = start + self.put[place] * beat + wobble;
            let room = self.put.get(place + 1).map_or(1.0, |next| next - self.put[place]) * beat;
            let pitch = f64::from(self.pitches[place]) + self.tuning + self.chance.normal(spread);
            let (off, sure) = (on + room * self.chance.between(shortest, 0.97), self.chance.between(least, 1.0));
            self.notes.push(Sounded { on, off, pitch, sure, place: Some(place), label: "note" });
        }
    }

    /// The index of the note that was played for the expected note `place`.
    pub fn index(&self, place: usize) -> Option<usize> {
        self.notes.iter().position(|note| note.place == Some(place))
    }

    /// The expected notes that are right so far.
    pub fn whole(&self) -> Vec<usize> {
        (0..self.labels.len()).filter(|&n| self.labels[n] == "right" && self.index(n).is_some()).collect()
    }

    /// The pitches of the expected notes just before and after `place`.
    pub fn neighbours(&self, place: usize) -> Vec<i32> {
        let around = [place.checked_sub(1), Some(place + 1)];
        around.into_iter().flatten().filter_map(|near| self.pitches.get(near).copied()).collect()
    }

    /// The expected notes that are right so far and whose neighbours have another pitch.
    pub fn distinct(&self) -> Vec<usize> {
        self.whole().into_iter().filter(|&n| !self.neighbours(n).contains(&self.pitches[n])).collect()
    }

    /// Makes all notes that begin at `from` or later begin `late` seconds later.
    pub fn push(&mut self, from: f64, late: f64) {
        for note in self.notes.iter_mut().filter(|note| note.on >= from - 1e-9) {
            note.on += late;
            note.off += late;
        }
    }

    pub fn by_product(&mut self, on: f64, length: f64, pitch: f64, sure: (f64, f64)) {
        let sure = self.chance.between(sure.0, sure.1);
        self.notes.push(Sounded { on, off: on + length, pitch, sure, place: None, label: "artefact" });
    }

    /// Ends each note before the next begins; at the second level, makes by-products look more like notes.
    fn settle(&mut self) {
        self.notes.sort_by(|a, b| a.on.total_cmp(&b.on));
        for n in 1..self.notes.len() {
            let next = self.notes[n].on;
            let note = &mut self.notes[n - 1];
            if next > note.on + 0.012 {
                note.off = note.off.min(next - 0.001);
            }
        }
        let by_products = self.notes.iter_mut().filter(|note| note.label == "artefact");
        for note in by_products.take(if self.loose { usize::MAX } else { 0 }) {
            note.sure = (note.sure * self.chance.between(1.0, 1.4)).min(1.0);
            if note.off - note.on < 0.09 && self.chance.happens(0.3) {
                note.off -= 0.25 * (note.off - note.on);
            }
        }
        self.notes.iter_mut().for_each(|note| note.off = note.off.max(note.on + 0.01));
    }

    /// The case with its truth.
    fn written(mut self, id: &str, kinds: &[&str]) -> Value {
        self.settle();
        let map: Vec<Option<usize>> = (0..self.pitches.len()).map(|place| self.index(place)).collect();
        let right: Vec<(usize, &Sounded)> = (0..map.len())
            .filter(|place| self.labels[*place] == "right")
            .filter_map(|place| Some((place, &self.notes[map[place]?])))
            .collect();
        let cents: Vec<f64> =
            right.iter().map(|(place, note)| 100.0 * (note.pitch - f64::from(self.pitches[*place]))).collect();
        let due = |place: usize| {
            if self.click { self.due + self.beats[place] * 60.0 / self.tempo } else { self.cue_end }
        };
        let expected = self.pitches.iter().zip(&self.beats);
        let played = self.notes.iter().map(|note| {
            json!({"onset": note.on, "offset": note.off, "pitch": note.pitch + f64::from(self.shift), "conf": note.sure})
        });
        json!({
            "id": id, "kinds": kinds, "tempo": self.tempo, "mode": if self.click { "click" } else { "free" },
            "cue_end": self.cue_end, "beat0": self.click.then_some(self.due),
            "expected": expected.map(|(pitch, beat)| json!({"pitch": pitch, "beat": beat, "dur": 0.5})).collect::<Vec<_>>(),
            "played": played.collect::<Vec<_>>(),
            "truth": {
                "shift": self.shift, "related": self.related, "attempts": self.attempts,
                "expected": self.labels, "map": map,
                "played": self.notes.iter().map(|note| note.label).collect::<Vec<_>>(),
                "latency": right.first().map(|(place, note)| note.on - due(*place)),
                "tempo_ratio": self.pace, "cents": earfirst::outside::units::median(&cents),
            }
        })
    }
}
