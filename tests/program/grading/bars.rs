//! Checks that the judge reaches every bar on generated answers of both levels, with a seed on which nothing was tuned. A bar is the least
//! share of something that has to be judged right: whole answers, single notes, or figures such as the pace.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::generator::{KINDS, cases};
use super::planted::{agree, exact, judged, kind, list, near};

const SEED: u64 = 20_261;

/// The shares that must be reached, 0 to 1.
struct Bars {
    exact: f64,
    notes: f64,
    played: f64,
    cents: f64,
    pace: f64,
    mix4: f64,
    /// The kinds of answer of which less than nine in ten may be judged right.
    hard: &'static [&'static str],
}

const BARS: [Bars; 2] = [
    Bars {
        exact: 0.975,
        notes: 0.995,
        played: 0.990,
        cents: 0.99,
        pace: 0.97,
        mix4: 0.70,
        hard: &["truncated", "other"],
    },
    Bars {
        exact: 0.965,
        notes: 0.993,
        played: 0.985,
        cents: 0.985,
        pace: 0.91,
        mix4: 0.68,
        hard: &["truncated", "other", "sub2"],
    },
];

/// The number of answers of each kind; with forty of them, one answer is a share of .025.
fn each() -> u64 {
    if std::env::var_os("EARFIRST_LONGER").is_some() { 200 } else { 40 }
}

fn share(pairs: &[(Value, Value)], is: impl Fn(&Value, &Value) -> bool) -> f64 {
    pairs.iter().filter(|(case, said)| is(&case["truth"], said)).count() as f64 / pairs.len() as f64
}

/// The answers that have one pace: no planted fault moves the notes after it, and at least four notes are right.
fn of_one_pace(pairs: &[(Value, Value)]) -> Vec<(Value, Value)> {
    let moved = ["rubato", "swing", "missed", "missed2", "extra"];
    let one = |(case, _): &&(Value, Value)| {
        let right = list(&case["truth"]["expected"]).iter().filter(|label| **label == json!("right")).count();
        right >= 4 && !list(&case["kinds"]).iter().any(|kind| moved.contains(&kind.as_str().unwrap()))
    };
    pairs.iter().filter(one).cloned().collect()
}

#[track_caller]
fn every_bar_holds(level: usize) {
    let bars = &BARS[level - 1];
    let pairs: Vec<(Value, Value)> = cases(SEED, each(), level)
        .into_iter()
        .map(|case| {
            let said = judged(&case);
            (case, said)
        })
        .collect();
    let attempted: Vec<(Value, Value)> =
        pairs.iter().filter(|(case, _)| case["truth"]["related"] == json!(true)).cloned().collect();
    let paced = of_one_pace(&attempted);
    let in_pace = paced.iter().filter(|(case, said)| {
        let of = |value: &Value| value["tempo_ratio"].as_f64().unwrap();
        (of(said) / of(&case["truth"]) - 1.0).abs() < 0.05
    });
    let figures = [
        ("whole answers", part_exact(&pairs), bars.exact),
        ("note labels", agree(&pairs, "expected"), bars.notes),
        ("played labels", agree(&pairs, "played"), bars.played),
        ("shift", share(&attempted, |truth, said| truth["shift"] == said["shift"]), 0.995),
        ("related", share(&pairs, |truth, said| truth["related"] == said["related"]), 0.99),
        ("attempts", share(&attempted, |truth, said| truth["attempts"] == said["attempts"]), 0.99),
        ("reflex within 20 ms", near(&pairs, "latency", 0.02), 0.985),
        ("cents within 3", near(&pairs, "cents", 3.0), bars.cents),
        ("pace within 5 %", in_pace.count() as f64 / paced.len() as f64, bars.pace),
    ];
    let mut by_kind: BTreeMap<&str, Vec<(Value, Value)>> = BTreeMap::new();
    pairs.iter().for_each(|pair| by_kind.entry(kind(&pair.0)).or_default().push(pair.clone()));
    assert_eq!(by_kind.len(), KINDS.len());
    let alone = by_kind.iter().map(|(kind, pairs)| {
        let bar = match *kind {
            "mix3" => 0.80,
            "mix4" => bars.mix4,
            kind if bars.hard.contains(&kind) => 0.87,
            _ => 0.90,
        };
        (*kind, part_exact(pairs), bar)
    });
    let all: Vec<(&str, f64, f64)> = figures.into_iter().chain(alone).collect();
    all.iter().for_each(|(name, figure, bar)| println!("level {level} {name}: {figure:.4}, wanted {bar}"));
    let short: Vec<_> = all.iter().filter(|(_, figure, bar)| figure < bar).collect();
    assert!(short.is_empty(), "level {level} falls short: {short:?}");
}

fn part_exact(pairs: &[(Value, Value)]) -> f64 {
    pairs.iter().filter(|(case, said)| exact(case, said)).count() as f64 / pairs.len() as f64
}

#[test]
fn every_kind_of_answer_is_called_as_it_was_played() {
    every_bar_holds(1);
}

#[test]
fn every_kind_of_answer_is_called_as_it_was_played_however_loosely() {
    every_bar_holds(2);
}
