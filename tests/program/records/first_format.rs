//! Sittings of the simulated player on three days, written in the first format by the program of that time. The coach learns from them
//! today what it learnt from them then.

use std::fmt::Write as _;
use std::fs;

use earfirst::outside::coach::{LearnerModel, Plan, Rng};
use earfirst::outside::cue::Form;
use earfirst::outside::session::{Event, read, replay};

const SITTINGS: [&str; 3] = ["one", "two", "three"];

fn events() -> Vec<Event> {
    let file = |name: &str| {
        let (events, damage) = read(&fs::read(format!("tests/data/sessions/two-outcomes-{name}.jsonl")).unwrap());
        assert_eq!(damage, None, "{name}");
        events
    };
    SITTINGS.into_iter().flat_map(file).collect()
}

/// All that the learner model knows of each key, with floating-point numbers as their bits, and what it would ask next.
fn told(beliefs: &LearnerModel, plan: &Plan) -> String {
    let mut out = String::new();
    let bits = |value: Option<f64>| value.map_or("-".to_owned(), |value| format!("{:016x}", value.to_bits()));
    for (pattern, key) in plan.pairs() {
        let row = beliefs.key_stats(pattern, key);
        let form = |form| bits(row.reflex(form).map(|time| time.0));
        let (passed, tries) = row.lately();
        writeln!(
            out,
            "{}\t{}\t{}\t{}\t{}\t{}\t{}/{}\t{}\t{}\t{}\t{}",
            key.name(),
            bits(row.tempo().map(|tempo| tempo.0)),
            bits(row.reached().map(|tempo| tempo.0)),
            bits(Some(row.passes())),
            form(Form::Pattern),
            form(Form::FirstNote),
            passed,
            tries,
            row.cues(),
            row.answers(),
            row.passed_today(),
            bits(Some(beliefs.need(pattern, key, &plan.goals).total())),
        )
        .unwrap();
    }
    let (mut next, mut rng) = (beliefs.clone(), Rng::new(5));
    for _ in 0..24 {
        let choice = next.choose(plan, &mut rng).unwrap();
        writeln!(out, "next\t{}\t{:.2}", choice.key.name(), choice.tempo.0).unwrap();
    }
    out
}

#[test]
fn sittings_with_two_outcomes_give_the_beliefs_they_always_gave_bit_for_bit() {
    let events = events();
    let Event::Began(began) = &events[0] else { panic!("no header") };
    let plan = Plan::new(began.patterns.clone(), began.keys.clone(), began.goals, began.day + 8);
    let now = told(&replay(&events), &plan);
    let path = "tests/data/sessions/two-outcomes.tsv";
    assert_eq!(now, fs::read_to_string(path).unwrap());
}

#[test]
fn what_answers_did_to_the_tempo_is_not_told_where_the_record_does_not_know() {
    let session = earfirst::outside::session::Session::from_events(
        &read(&fs::read("tests/data/sessions/two-outcomes-one.jsonl").unwrap()).0,
    );
    let found = earfirst::outside::report::review(&[session.unwrap()]);
    let row = &found.parts[0].sittings[0];
    assert!(!row.steps_known && row.answered > 0, "{row:?}");
}
