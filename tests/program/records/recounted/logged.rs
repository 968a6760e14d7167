//! A part of `log --json`, counted anew.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::raw::{RawSitting, RawTurn, int, turns, week};
use super::reviewed::{KEYS, held_out, kept};
use super::steady::steadiness;

/// 1970-01-01 was a Thursday, so day 3 was a Sunday; a week ends with one (ISO 8601).
fn sunday(day: i64) -> i64 {
    day + (3 - day).rem_euclid(7)
}

pub fn part(sittings: &[&RawSitting], today: i64) -> Value {
    let all = turns(sittings);
    let answers: Vec<&RawTurn> = all.iter().filter(|turn| turn.counts()).collect();
    let mut days: Vec<i64> = sittings.iter().map(|it| int(&it.head["day"])).collect();
    days.dedup();
    let mut sundays: Vec<i64> = days.iter().map(|day| sunday(*day)).collect();
    sundays.dedup();
    let weeks = sundays.iter().rev().map(|until| {
        let mut row = week(sittings, *until).unwrap();
        row["practised"] = practised(&answers, *until);
        row
    });
    json!({
        "player": sittings.last().unwrap().head.get("player"), "instrument": sittings[0].head["instrument"],
        "simulated": sittings[0].head["simulated"], "first_day": days[0], "last_day": days.last(),
        "sittings": sittings.len(), "days": days.len(),
        "sounding_s": sittings.iter().map(|it| it.sounding()).sum::<f64>(), "weeks": weeks.collect::<Vec<_>>(),
        "last_seven_days": week(sittings, today).zip(week(sittings, today - 7)).map(|(this, before)| json!([this, before])),
        "kept": [kept(&answers, 7, 30), kept(&answers, 30, i64::MAX)], "held_out": held_out(&answers), "steadiness": steadiness(sittings, &all.iter().filter(|turn| turn.counts()).collect::<Vec<_>>()),
        "left_alone": left_alone(&answers, today),
    })
}

/// The patterns of a week, the one with the most answers first.
fn practised(answers: &[&RawTurn], until: i64) -> Value {
    let mut found: Vec<(&str, &Value, usize)> = Vec::new();
    for answer in answers.iter().filter(|it| sunday(it.day) == until) {
        match found.iter_mut().find(|(pattern, ..)| *pattern == answer.pattern()) {
            Some((.., many)) => *many += 1,
            None => found.push((answer.pattern(), &answer.cue["title"], 1)),
        }
    }
    found.sort_by_key(|(.., many)| std::cmp::Reverse(*many));
    found.into_iter().map(|(_, title, many)| json!({ "title": title, "answers": many })).collect()
}

/// The keys that were not answered for two days or more in a pattern that was answered within sixty days, without the keys that are held
/// out today; those that were away longest first.
fn left_alone(answers: &[&RawTurn], today: i64) -> Vec<Value> {
    let mut latest: BTreeMap<(&str, usize), &RawTurn> = BTreeMap::new();
    let mut practised: BTreeMap<&str, i64> = BTreeMap::new();
    for answer in answers {
        let place = KEYS.iter().position(|key| *key == answer.key()).unwrap();
        latest.insert((answer.pattern(), place), answer);
        practised.insert(answer.pattern(), answer.day);
    }
    let until: BTreeMap<&str, i64> =
        answers.iter().filter_map(|it| Some((it.key(), it.cue["reason"]["held_out_until_day"].as_i64()?))).collect();
    let due = |it: &&RawTurn| until.get(it.key()).is_none_or(|until| today >= *until);
    let mut found: Vec<&RawTurn> = latest
        .into_values()
        .filter(|it| today - it.day >= 2 && today - practised[it.pattern()] <= 60)
        .filter(due)
        .collect();
    found.sort_by_key(|it| it.day);
    let of = |it: &&RawTurn| {
        json!({
            "pattern": it.pattern(), "title": it.cue["title"], "concert_key": it.key(), "days": today - it.day,
            "right": it.right(), "of": it.of(), "whole": it.whole(),
        })
    };
    found.iter().map(of).collect()
}
