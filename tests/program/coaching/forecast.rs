//! `earfirst coach`: what the coach would ask today, by pattern and key, and why.

use std::collections::BTreeSet;
use std::process::Command;

use earfirst::outside::coach::{Choice, LearnerModel, Plan, Rng, SittingPlan, Spared};
use earfirst::outside::cue::{Form, Timing};

use earfirst::outside::files::{KeepSound, Places, SessionFolder};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::session::Event;
use earfirst::outside::units::Seconds;

use crate::coaching::learner::{Player, named, plan, sit};
use crate::desk::Desk;
use crate::rehearsal::{Rehearsal, faithful, settings};

#[test]
fn the_forecast_begins_with_what_is_asked_next_comes_to_every_key_of_every_pattern_and_enters_nothing() {
    let long = SittingPlan::new(None, Spared::USUAL);
    let mut beliefs = LearnerModel::new();
    let wanted = Plan { patterns: named(&["five notes", "broken thirds", "enclosure"]), meet: true, ..plan(1) };
    sit(&mut beliefs, &plan(0), &mut Player::new(2), &mut Rng::new(2), 60);
    let before = beliefs.clone();
    let forecast = beliefs.forecast(&wanted, &long, Rng::new(9), Form::FirstNote, Timing::Free);
    assert_eq!(beliefs, before);
    for pattern in &wanted.patterns {
        let keys = wanted.keys.iter().filter(|key| forecast.iter().any(|n| n.pattern == *pattern && n.key == **key));
        assert_eq!(keys.count(), 12, "{}", pattern.0);
    }
    assert_eq!(forecast[0], beliefs.choose(&long.plan(Seconds(0.0), &wanted), &mut Rng::new(9)).unwrap());
}

#[test]
fn a_drill_begins_with_what_was_foretold_for_it() {
    let on = |day: i32| {
        let mut settings = settings("five-note-row-up-and-down", Form::FirstNote, &ConcertKey::FIFTHS);
        settings.plan.day += day;
        settings
    };
    let mut yesterday = Rehearsal::new(on(0), faithful(0.5));
    yesterday.run(280.0);
    let known = yesterday.drill.learner().clone();
    let today = on(1);
    let sitting = SittingPlan::new(None, today.rests.spared);
    // The rng of a rehearsal.
    let foretold = known.forecast(&today.plan, &sitting, Rng::new(7), Form::FirstNote, Timing::Free);
    let mut room = Rehearsal::of_a_known_player(today, known, faithful(0.5));
    room.run_until(|room| room.cues.len() >= 12);
    let asked = room.events.iter().filter_map(|event| match event {
        Event::Cued { cue, reason, .. } => Some(Choice {
            pattern: cue.pattern.clone(),
            key: cue.key,
            register: cue.register,
            tempo: cue.tempo,
            reason: *reason,
        }),
        _ => None,
    });
    assert_eq!(asked.collect::<Vec<_>>()[..12], foretold[..12]);
}

#[test]
fn a_sitting_of_five_minutes_foretells_no_more_than_five_minutes() {
    let mut beliefs = LearnerModel::new();
    sit(&mut beliefs, &plan(0), &mut Player::new(2), &mut Rng::new(2), 60);
    let three = Plan { patterns: named(&["five notes", "broken thirds", "enclosure"]), ..plan(1) };
    let foretold = |minutes: Option<f64>| {
        let sitting = SittingPlan::new(minutes.map(|minutes| Seconds(60.0 * minutes)), Spared::USUAL);
        beliefs.forecast(&three, &sitting, Rng::new(9), Form::FirstNote, Timing::Free).len()
    };
    assert!(foretold(Some(5.0)) <= 40 && foretold(None) > 40, "{:?}", [foretold(Some(5.0)), foretold(None)]);
}

#[test]
fn the_forecast_comes_to_every_pair_that_fits_and_to_no_other() {
    let patterns = named(&["five notes", "broken thirds"]);
    let out = plan(0).keys[3..9].iter().map(|key| (patterns[1].clone(), *key)).collect();
    let narrow = Plan { patterns, out_of_range: out, ..plan(0) };
    let long = SittingPlan::new(None, Spared::USUAL);
    let forecast = LearnerModel::new().forecast(&narrow, &long, Rng::new(9), Form::FirstNote, Timing::Free);
    let asked: BTreeSet<_> = forecast.iter().map(|next| (&next.pattern, next.key)).collect();
    assert_eq!(asked, narrow.pairs().collect());
    assert_eq!(asked.len(), 12 + 6);
}

/// The rows of keys, above what the coach cannot know, each key in a row of its own: "so too: Eb at 5" stands for the row above with
/// another key and another number.
fn rows(text: &str) -> Vec<String> {
    let (keys, unknown) = text.split_once("What this cannot know").unwrap_or_else(|| panic!("{text}"));
    assert!(unknown.contains("--by-ear") && unknown.contains("--second-task"), "{unknown}");
    let mut rows: Vec<String> = Vec::new();
    for line in keys.lines().filter(|line| line.starts_with("  ")) {
        let Some(others) = line.trim_start().strip_prefix("so too: ") else {
            rows.push(line.to_owned());
            continue;
        };
        let said = rows.last().unwrap().trim_start().trim_start_matches(|digit: char| digit.is_ascii_digit());
        let rest = said.trim_start().split_once(' ').unwrap().1.to_owned();
        for other in others.split(", ") {
            let (key, number) = other.split_once(" at ").unwrap_or_else(|| panic!("{line}"));
            rows.push(format!("{number:>5}  {key} {rest}"));
        }
    }
    rows
}

#[test]
fn the_command_tells_each_of_three_patterns_in_each_of_twelve_keys_when_it_comes_and_why() {
    let nobody = std::env::temp_dir().join(format!("earfirst-coach-{}", std::process::id()));
    let run = Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .env("EARFIRST_DATA", &nobody)
        .args(["coach", "--instrument", "trumpet"])
        .output()
        .unwrap();
    let text = String::from_utf8(run.stdout).unwrap();
    let rows = rows(&text);
    assert_eq!(rows.len(), 36, "{text}");
    for row in &rows {
        let (why, tempo) = row.split_once(" · quarter = ").unwrap_or_else(|| panic!("{row}"));
        let why = why.trim_start().trim_start_matches(|digit: char| digit.is_ascii_digit()).trim_start();
        assert!(why.starts_with("New pattern: three answers in ") || why.contains(" for the first time"), "{row}");
        assert!(tempo.ends_with("not answered yet"), "{row}");
    }
    let first = "    1  New pattern: three answers in C before the other keys come in · quarter = 58";
    assert!(rows[0].starts_with(first), "{text}");
    assert!(rows[13].contains(" for the first time in this pattern "), "the key was asked in another: {text}");
    let told = |typed: &[&str]| {
        let run = Command::new(env!("CARGO_BIN_EXE_earfirst"))
            .env("EARFIRST_DATA", &nobody)
            .arg("coach")
            .args(typed)
            .output();
        String::from_utf8(run.unwrap().stdout).unwrap()
    };
    let asked = told(&["major-triad-up", "--cue", "first-note", "--goal", "120", "--tempo", "80", "--minutes", "20"]);
    assert!(
        asked.contains("goal quarter = 120")
            && asked.contains("three answers in C before the other keys come in · quarter = 64"),
        "{asked}"
    );
}

#[test]
fn the_command_tells_a_known_player_the_whole_reason_for_each_key_and_what_is_known_of_it() {
    let desk = Desk::new("coach");
    let patterns = ["five-note-row-up-and-down", "major-triad-up"];
    for (n, pattern) in patterns.iter().enumerate() {
        let mut settings = settings(pattern, Form::FirstNote, &ConcertKey::FIFTHS);
        settings.began.started = format!("2026-03-01T1{n}:00:00+01:00");
        let began = settings.began.clone();
        let mut room = Rehearsal::new(settings, faithful(1.2));
        room.run_until(|room| room.cues.len() > 30);
        let mut live = SessionFolder::begin(&Places::at(&desk.0.join("data")), &began, KeepSound::None);
        room.events.iter().filter(|event| !matches!(event, Event::Began(_))).for_each(|event| live.record(event));
        live.finish(&|_| String::new()).unwrap().unwrap();
    }
    let text = desk.done(&format!("coach {} --instrument trumpet --cue first-note", patterns.join(" ")));
    let rows = rows(&text);
    assert_eq!(rows.len(), 24, "{text}");
    let count = |why: &str| rows.iter().filter(|row| row.contains(why)).count();
    assert_eq!(count(" · reached ") + count(" · not passed yet"), 24, "{text}");
    assert_eq!(count("reflex 1.2 s"), 24, "{text}");
    // The day's first twelve are the first tries, the patterns in turn; the rest come as they are needed.
    assert_eq!(count(" is back today, not asked for "), 12, "{text}");
    let needed = count("; so it comes more often · ")
        + count(": it goes better than your average key, so it comes less often · ");
    assert_eq!(needed, 12, "{text}");
}
