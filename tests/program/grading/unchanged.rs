//! Changes of an answer that must not change its verdict, made to answers of every kind with planted faults. The verdicts before and after
//! the change are compared, so no truth is needed.

use serde_json::{Value, json};

use super::planted::{LEVEL_1, LEVEL_2, cases, judged, kind, list};

/// A by-product of playing is shorter than this, in seconds, however slow the line is; longer sounds are notes.
const SHORT: f64 = 0.085;
/// At a quick tempo a by-product is also shorter than this share of the shortest time between two notes, by the judge's own rule
/// (`sounded`).
const SHORT_PART: f64 = 0.42;
/// A by-product belongs to a neighbour where the silence between them is shorter than this, in seconds.
const CLOSE: f64 = 0.03;
/// The longest silence, in seconds, between two pieces of a note that broke.
const BROKEN: f64 = 0.045;

fn every_kind() -> impl Iterator<Item = Value> {
    cases(LEVEL_1).into_iter().chain(cases(LEVEL_2))
}

fn with(case: &Value, change: impl Fn(&mut Value)) -> Value {
    let mut changed = case.clone();
    change(&mut changed);
    changed
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn add(case: &mut Value, field: &str, half_steps: i64) {
    for note in case[field].as_array_mut().unwrap() {
        let pitch = &note["pitch"];
        note["pitch"] = match pitch.as_i64() {
            Some(whole) => json!(whole + half_steps),
            None => json!(number(pitch) + half_steps as f64),
        };
    }
}

#[track_caller]
fn alike(case: &Value, one: &Value, other: &Value, fields: &[&str]) {
    for field in fields {
        assert_eq!(one[field], other[field], "{} {}: {field}", kind(case), case["id"]);
    }
}

/// Onset and end of each note, in seconds.
fn times(case: &Value) -> Vec<(f64, f64)> {
    list(&case["played"]).iter().map(|note| (number(&note["onset"]), number(&note["offset"]))).collect()
}

/// The answer at half its tempo. By-products of playing do not slow down with the answer: each stays as long as it was, and as near to the
/// note into which it runs or which it follows. In a note that broke the gap stays as short as it was.
fn twice_slower(case: &Value) -> Value {
    let (notes, was) = (list(&case["played"]), times(case));
    let mut now: Vec<(f64, f64)> = was.iter().map(|(on, off)| (2.0 * on, 2.0 * off)).collect();
    for (n, _) in list(&case["truth"]["played"]).iter().enumerate().filter(|(_, label)| **label == json!("artefact")) {
        let length = was[n].1 - was[n].0;
        let before = n.checked_sub(1).map(|last| (was[n].0 - was[last].1, now[last].1));
        let same = |last: usize| (number(&notes[last]["pitch"]) - number(&notes[n]["pitch"])).abs() < 0.5;
        let next = was.get(n + 1).map(|next| next.0 - was[n].1).filter(|gap| *gap < CLOSE && length < SHORT);
        now[n].1 = now[n].0 + length;
        match (next, before) {
            (Some(gap), _) => now[n + 1].0 = now[n].1 + gap,
            (None, Some((gap, end))) if gap < BROKEN && same(n - 1) => now[n] = (end + gap, 2.0 * was[n].1),
            (None, Some((gap, end))) if gap < CLOSE => now[n] = (end + gap, end + gap + length),
            _ => {}
        }
    }
    with(case, |case| {
        case["tempo"] = json!(0.5 * number(&case["tempo"]));
        for field in ["cue_end", "beat0"] {
            case[field] = case[field].as_f64().map_or(Value::Null, |at| json!(2.0 * at));
        }
        for (note, (on, off)) in case["played"].as_array_mut().unwrap().iter_mut().zip(&now) {
            (note["onset"], note["offset"]) = (json!(on), json!(off));
        }
    })
}

/// Whether a by-product lasts so long that it may count as a note at this tempo.
fn as_long_as_a_note(case: &Value, n: usize) -> bool {
    let beats: Vec<f64> = list(&case["expected"]).iter().map(|note| number(&note["beat"])).collect();
    let shortest = beats.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
    let (on, off) = times(case)[n];
    case["truth"]["played"][n] == json!("artefact") && off - on > SHORT_PART * shortest * 60.0 / number(&case["tempo"])
}

#[test]
fn twice_slower_at_half_the_tempo_is_the_same_answer() {
    let mut left_open = 0;
    for case in every_kind() {
        let (one, other) = (judged(&case), judged(&twice_slower(&case)));
        alike(&case, &one, &other, &["expected", "map", "shift", "attempts", "related"]);
        for (n, label) in list(&one["played"]).iter().enumerate() {
            if *label != other["played"][n] {
                assert!(as_long_as_a_note(&case, n), "{} {}: note {n}", kind(&case), case["id"]);
                left_open += 1;
            }
        }
    }
    assert!(left_open <= 1, "{left_open} of 216 answers hold what is a note at one tempo and none at half of it");
}

#[test]
fn an_octave_up_changes_only_the_shift() {
    for case in every_kind() {
        let (one, other) = (judged(&case), judged(&with(&case, |case| add(case, "played", 12))));
        alike(&case, &one, &other, &["expected", "map", "played", "attempts", "related", "latency", "tempo_ratio"]);
        let up = if one["related"] == json!(true) { 12 } else { 0 };
        assert_eq!(other["shift"].as_i64(), one["shift"].as_i64().map(|shift| shift + up), "{}", case["id"]);
    }
}

#[test]
fn in_another_key_the_same_answer_to_the_same_line_has_the_same_verdict() {
    for case in every_kind() {
        let moved = |by: i64| {
            ["expected", "played"].iter().fold(case.clone(), |case, field| with(&case, |case| add(case, field, by)))
        };
        let one = judged(&case);
        for by in [-7, 1, 6] {
            let other = judged(&moved(by));
            alike(
                &case,
                &one,
                &other,
                &["expected", "map", "played", "attempts", "related", "shift", "latency", "tempo_ratio"],
            );
            let cents = [&one, &other].map(|said| said["cents"].as_f64());
            assert!(cents[0].zip(cents[1]).is_none_or(|(one, other)| (one - other).abs() < 1e-6), "{cents:?}");
        }
    }
}

#[test]
fn taking_out_an_artefact_changes_nothing() {
    let mut found = 0;
    for case in every_kind() {
        let (said, notes) = (judged(&case), list(&case["played"]));
        let kept: Vec<&Value> =
            (0..notes.len()).filter(|i| said["played"][i] != "artefact").map(|i| &notes[i]).collect();
        found += u32::from(kept.len() < notes.len());
        let cleaned = judged(&with(&case, |case| case["played"] = json!(kept)));
        alike(&case, &said, &cleaned, &["expected", "shift", "attempts", "related", "latency"]);
    }
    assert!(found >= 50, "as many hold an artefact that is known as one: {found}");
}
