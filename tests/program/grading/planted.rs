//! Cases with planted faults and their truth, made by an independent generator: two levels of 27 kinds, four cases of each kind. The judge
//! was built for the bars here; `bars.rs` checks it on answers on which nothing was tuned. A single case is one of 108 of its level.

use earfirst::outside::exchange::answer_to_case as answer;
use serde_json::{Value, json};

pub const LEVEL_1: &str = include_str!("../../data/grading/level-1.jsonl");
pub const LEVEL_2: &str = include_str!("../../data/grading/level-2.jsonl");

pub fn cases(level: &str) -> Vec<Value> {
    level.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// The case without its truth.
pub fn blind(case: &Value) -> Value {
    let mut blind = case.clone();
    let fields = blind.as_object_mut().unwrap();
    fields.remove("truth");
    fields.remove("kinds");
    blind
}

pub fn judged(case: &Value) -> Value {
    serde_json::from_str(&answer(&blind(case).to_string()).unwrap()).unwrap()
}

pub fn kind(case: &Value) -> &str {
    case["kinds"][0].as_str().unwrap()
}

pub fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// Whether a verdict agrees with the truth: whether the answer is related to the line, its shift and attempts, the label of every
/// expected note, and for each note that came (right, wrong or in another octave) which of the played notes it was.
pub fn exact(case: &Value, said: &Value) -> bool {
    let truth = &case["truth"];
    if truth["related"] == json!(false) {
        return said["related"] == json!(false);
    }
    let placed =
        list(&truth["expected"]).iter().zip(list(&truth["map"])).zip(list(&said["map"])).all(
            |((label, there), here)| !matches!(label.as_str(), Some("right" | "wrong" | "octave")) || there == here,
        );
    placed && ["related", "shift", "attempts", "expected"].iter().all(|field| truth[field] == said[field])
}

/// The share of the entries of the list `field` that are as planted, over all answers that are related to their line.
pub fn agree(pairs: &[(Value, Value)], field: &str) -> f64 {
    let related = pairs.iter().filter(|(case, _)| case["truth"]["related"] == json!(true));
    let both: Vec<(&Value, &Value)> =
        related.flat_map(|(case, said)| list(&case["truth"][field]).iter().zip(list(&said[field]))).collect();
    both.iter().filter(|(truth, said)| truth == said).count() as f64 / both.len() as f64
}

pub fn near(pairs: &[(Value, Value)], field: &str, within: f64) -> f64 {
    let related = pairs.iter().filter(|(case, _)| case["truth"]["related"] == json!(true));
    let both: Vec<(f64, Option<f64>)> =
        related.filter_map(|(case, said)| Some((case["truth"][field].as_f64()?, said[field].as_f64()))).collect();
    let close = both.iter().filter(|(truth, said)| said.is_some_and(|said| (truth - said).abs() < within));
    close.count() as f64 / both.len() as f64
}

#[track_caller]
fn meets(level: &str, whole_cases: f64, notes: f64, played: f64) {
    let pairs: Vec<(Value, Value)> = cases(level)
        .into_iter()
        .map(|case| {
            let said = judged(&case);
            (case, said)
        })
        .collect();
    let missed: Vec<&str> =
        pairs.iter().filter(|(case, said)| !exact(case, said)).map(|(case, _)| kind(case)).collect();
    let part = 1.0 - missed.len() as f64 / pairs.len() as f64;
    assert!(part >= whole_cases, "{part:.3} of whole cases exact; not: {missed:?}");
    for (figure, bar, name) in [
        (agree(&pairs, "expected"), notes, "note labels"),
        (agree(&pairs, "played"), played, "played labels"),
        (near(&pairs, "latency", 0.02), 0.985, "reflex within 20 ms"),
        (near(&pairs, "cents", 3.0), 0.985, "cents within 3"),
    ] {
        assert!(figure >= bar, "{name}: {figure:.4} < {bar}");
    }
}

#[test]
fn faults_planted_in_clean_playing_are_found() {
    meets(LEVEL_1, 0.975, 0.995, 0.990);
}

#[test]
fn faults_planted_in_loose_playing_are_found() {
    meets(LEVEL_2, 0.965, 0.993, 0.985);
}

#[test]
fn a_line_that_lacks_something_is_refused_and_the_message_says_what() {
    for (line, part) in [
        ("{", "not a case"),
        (r#"{"id":"a","tempo":0,"mode":"free","cue_end":0,"expected":[],"played":[]}"#, "tempo 0"),
        (r#"{"id":"a","tempo":90,"mode":"free","cue_end":0,"expected":[],"played":[]}"#, "0 expected notes"),
        (
            r#"{"id":"a","tempo":90,"mode":"later","cue_end":0,"expected":[{"pitch":60,"beat":0,"dur":1}],"played":[]}"#,
            "later",
        ),
    ] {
        let refused = answer(line).unwrap_err();
        assert!(refused.contains(part), "{refused}");
    }
}
