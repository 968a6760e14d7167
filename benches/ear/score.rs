//! What was heard against what truly sounded: the measures of the field's usual scorer (mir_eval's `transcription`: the largest
//! matching of notes whose onsets and pitches lie within a tolerance, offsets left out).
use std::collections::BTreeMap;

use earfirst::outside::units::{A440, Midi};

use crate::corpus::{Heard, Take};

/// The tolerances of a match, seconds and half steps.
const USUAL: (f64, f64) = (0.05, 0.5);
const STRICT: (f64, f64) = (0.02, 0.25);
/// Upper bound of each register in hertz, and its name; the time until a note is told is given for each register.
const REGISTERS: [(f64, &str); 4] = [(110.0, "to 110 Hz"), (220.0, "to 220 Hz"), (440.0, "to 440 Hz"), (1e9, "above")];
/// Notes shorter than this, in seconds, are not counted for intonation.
const STEADY: f64 = 0.14;
/// Lower ends of the ranges of confidence, each of which is told apart.
const CONFIDENCES: [f64; 8] = [0.0, 0.2, 0.4, 0.6, 0.75, 0.85, 0.95, 1.0];

/// The largest matching: for each true note the heard one, if any (augmenting paths; Kuhn 1955).
pub fn matching(take: &Take, heard: &[Heard], (onset, pitch): (f64, f64)) -> Vec<Option<usize>> {
    let fits = |truth: usize, one: usize| {
        let (truth, one) = (&take.notes[truth], &heard[one]);
        (truth.onset - one.onset).abs() <= onset + 1e-9 && (truth.midi - one.midi).abs() <= pitch + 1e-9
    };
    let mut of: Vec<Option<usize>> = vec![None; heard.len()];
    for truth in 0..take.notes.len() {
        let mut seen = vec![false; heard.len()];
        augment(truth, &fits, &mut of, &mut seen);
    }
    let mut found = vec![None; take.notes.len()];
    of.iter().enumerate().for_each(|(one, truth)| {
        if let Some(truth) = truth {
            found[*truth] = Some(one);
        }
    });
    found
}

fn augment(truth: usize, fits: &dyn Fn(usize, usize) -> bool, of: &mut [Option<usize>], seen: &mut [bool]) -> bool {
    for one in 0..of.len() {
        if seen[one] || !fits(truth, one) {
            continue;
        }
        seen[one] = true;
        if of[one].is_none_or(|other| augment(other, fits, of, seen)) {
            of[one] = Some(truth);
            return true;
        }
    }
    false
}

/// Counts over many takes.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    pub notes: usize,
    pub told: usize,
    pub right: usize,
    pub strict: usize,
    pub octaves: usize,
    pub again: usize,
    pub again_right: usize,
    pub mended: usize,
    cents: Vec<f64>,
    late: BTreeMap<usize, Vec<f64>>,
    /// Confidence of each note that was told, and whether it was right.
    sure: Vec<(f64, bool)>,
}

impl Tally {
    /// Counts one take.
    pub fn add(&mut self, take: &Take, heard: &[Heard]) {
        let (usual, strict) = (matching(take, heard, USUAL), matching(take, heard, STRICT));
        self.told += heard.len();
        self.strict += strict.iter().flatten().count();
        self.sure.extend((0..heard.len()).map(|one| (heard[one].confidence, usual.contains(&Some(one)))));
        for (n, truth) in take.notes.iter().enumerate() {
            let again = n > 0 && (truth.midi - take.notes[n - 1].midi).abs() < 0.4;
            self.notes += 1;
            self.again += usize::from(again);
            let Some(one) = usual[n].map(|one| &heard[one]) else {
                let octave = |one: &&Heard| {
                    let apart = (one.midi - truth.midi).abs();
                    (one.onset - truth.onset).abs() < USUAL.0 && [12.0, 24.0].iter().any(|o| (apart - o).abs() < 0.5)
                };
                self.octaves += usize::from(heard.iter().any(|one| octave(&one)));
                continue;
            };
            self.right += 1;
            self.again_right += usize::from(again);
            self.mended += usize::from((one.first - one.midi).abs() > 0.5);
            if truth.release - truth.onset >= STEADY {
                self.cents.push(100.0 * (one.midi - truth.midi).abs());
            }
            let hz = Midi(truth.midi).hertz(A440).0;
            let register = REGISTERS.iter().position(|(top, _)| hz < *top).unwrap_or(0);
            self.late.entry(register).or_default().push(1000.0 * (one.known - truth.onset));
        }
    }

    /// F1, 0 to 1: twice the right notes over the notes that were played and those that were told.
    pub fn f1(&self) -> f64 {
        2.0 * self.right as f64 / (self.notes + self.told).max(1) as f64
    }

    /// F1 of notes within 20 ms and 25 cents.
    pub fn f1_strict(&self) -> f64 {
        2.0 * self.strict as f64 / (self.notes + self.told).max(1) as f64
    }

    /// For each range of confidence: the number of notes told with it, their mean confidence, and the share of them that is right.
    pub fn confidences(&self) -> Vec<(usize, f64, f64)> {
        let within = |ends: &[f64]| {
            let mut notes =
                self.sure.iter().filter(|(sure, _)| (ends[0]..ends[1]).contains(&sure.min(0.9999))).peekable();
            notes.peek()?;
            let (mut count, mut told, mut right) = (0, 0.0, 0.0);
            for (sure, is_right) in notes {
                count += 1;
                told += sure;
                right += f64::from(u8::from(*is_right));
            }
            Some((count, told / f64::from(count), right / f64::from(count)))
        };
        CONFIDENCES.windows(2).filter_map(within).map(|(count, told, right)| (count as usize, told, right)).collect()
    }

    /// One line of a table.
    pub fn line(&self) -> String {
        if self.notes == 0 {
            return format!("false notes {}", self.told);
        }
        let share = |part: usize, of: usize| part as f64 / of.max(1) as f64;
        let pair = |values: &[f64]| {
            let mut sorted = values.to_vec();
            sorted.sort_by(f64::total_cmp);
            let at = |share: f64| sorted.get((share * (sorted.len() as f64 - 1.0)).round() as usize).copied();
            at(0.5).zip(at(0.95)).map_or("-".to_owned(), |(middle, most)| format!("{middle:.1}/{most:.1}"))
        };
        let late: Vec<String> = self.late.iter().map(|(n, of)| format!("{} {}", REGISTERS[*n].1, pair(of))).collect();
        format!(
            "{:5} notes {:5} told  F1 {:.3}  strict {:.3}  octaves {:.2} %  again {:.3}  mended {:.1} %  cents {}  told after ms {}",
            self.notes,
            self.told,
            self.f1(),
            self.f1_strict(),
            100.0 * share(self.octaves, self.notes),
            share(self.again_right, self.again),
            100.0 * share(self.mended, self.right),
            pair(&self.cents),
            late.join(" · "),
        )
    }
}
