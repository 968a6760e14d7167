//! How steady the reflex times are, counted anew.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::raw::{RawSitting, RawTurn, median};
use super::reviewed::KEYS;

/// How far a reflex time moved from the one before: the size of the logarithm of their ratio, first of the whole times, then of the times
/// without a fixed .15 s.
type Step = [f64; 2];

pub fn steadiness(sittings: &[&RawSitting], answers: &[&RawTurn]) -> Option<Value> {
    let mut calibrated = true;
    let mut last: BTreeMap<[String; 3], f64> = BTreeMap::new();
    let mut keys: Vec<Vec<Step>> = vec![Vec::new(); 12];
    for answer in answers {
        let Some(time) = answer.reflex() else { continue };
        calibrated &= sittings[answer.sitting].head.get("delay_s").is_some_and(|delay| !delay.is_null());
        let line = [answer.key(), answer.pattern(), answer.cue["form"].as_str().unwrap()].map(str::to_owned);
        if let Some(before) = last.insert(line, time) {
            let apart = |off: f64| ((time - off).max(0.03) / (before - off).max(0.03)).ln().abs();
            keys[KEYS.iter().position(|key| *key == answer.key()).unwrap()].push([apart(0.0), apart(0.15)]);
        }
    }
    let all: usize = keys.iter().map(Vec::len).sum();
    let of = |keys: &[Vec<Step>], needed: usize, bar: f64| {
        let many: usize = keys.iter().map(Vec::len).sum();
        let enough: Vec<&Vec<Step>> = keys.iter().filter(|steps| steps.len() >= 24).collect();
        let end = |steps: &[Step], last: bool| -> Vec<Step> {
            let third = steps.len() / 3;
            if last { steps[steps.len() - third..].to_vec() } else { steps[..third].to_vec() }
        };
        let spread = |last: bool| {
            let steps: Vec<f64> = enough.iter().flat_map(|steps| end(steps, last)).map(|step| step[0]).collect();
            median(&steps).map(|middle| middle / 2f64.sqrt())
        };
        let (mut sum, mut variance) = (0.0, 0.0);
        for steps in &enough {
            let (first, last) = (end(steps, false), end(steps, true));
            let longer = first.iter().map(|one| last.iter().filter(|other| one[1] > other[1]).count()).sum::<usize>();
            let n = first.len() as f64;
            sum += (longer as f64 - n * n / 2.0) / (2.0 * n + 1.0);
            variance += n * n / (12.0 * (2.0 * n + 1.0));
        }
        let told = calibrated && many >= needed && variance > 0.0;
        json!({
            "times": many, "spread_first": spread(false), "spread_last": spread(true),
            "fell_beyond_speed": told.then(|| sum / variance.sqrt() / 1.2 > bar),
        })
    };
    let rows = keys.iter().zip(KEYS).filter(|(steps, _)| !steps.is_empty()).map(|(steps, key)| {
        let mut row = of(std::slice::from_ref(steps), 720, 2.64);
        row["concert_key"] = key.into();
        row
    });
    (all > 0)
        .then(|| json!({ "calibrated": calibrated, "all": of(&keys, 360, 1.645), "keys": rows.collect::<Vec<_>>() }))
}
