//! `earfirst coach`: what the day would bring, per pattern and key, and why.

use std::process::Command;

use earfirst::coach::{Beliefs, Dice, Plan};
use earfirst::cue::{Form, Timing};

use crate::coaching::learner::{Player, named, plan, sit};

#[test]
fn the_forecast_begins_with_what_is_asked_next_comes_to_every_key_of_every_pattern_and_enters_nothing() {
    let mut beliefs = Beliefs::new();
    let wanted = Plan { patterns: named(&["five notes", "broken thirds", "enclosure"]), meet: true, ..plan(1) };
    sit(&mut beliefs, &plan(0), &mut Player::new(2), &mut Dice::new(2), 60);
    let before = beliefs.clone();
    let ahead = beliefs.ahead(&wanted, Dice::new(9), Form::FirstNote, Timing::Free);
    assert_eq!(beliefs, before);
    for pattern in &wanted.patterns {
        let keys = wanted.keys.iter().filter(|key| ahead.iter().any(|n| n.pattern == *pattern && n.key == **key));
        assert_eq!(keys.count(), 12, "{}", pattern.0);
    }
    assert_eq!(ahead[0], beliefs.choose(&wanted, &mut Dice::new(9)).unwrap());
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
    let rows: Vec<&str> = text.lines().filter(|line| line.starts_with("  ")).collect();
    assert_eq!(rows.len(), 36, "{text}");
    for row in &rows {
        let (why, tempo) = row.split_once(" · quarter = ").unwrap_or_else(|| panic!("{row}"));
        assert!(why.trim_start().starts_with(|digit: char| digit.is_ascii_digit()) && why.contains(','), "{row}");
        assert!(tempo.ends_with("not answered yet"), "{row}");
    }
    assert!(rows[0].contains("    1  C, new pattern, slowly"), "{text}");
}
