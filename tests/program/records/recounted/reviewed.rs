//! A part of `review --json`, counted anew.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::raw::{RawSitting, RawTurn, first_tries, int, median, middle, num, pitches, spread, turns, week};
use super::steady::steadiness;

const FORMS: [&str; 4] = ["pattern", "first_note", "chord", "name_only"];
/// Sounding keys round the circle of fifths.
pub const KEYS: [&str; 12] = ["C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F"];
/// A trumpet in Bb is written a major second higher than it sounds (common practice).
const TRUMPET: i64 = 2;

/// What `review --json` should say of these sittings of one player on the trumpet; the sittings are in the order of time. Sentences of
/// advice are left out, because they are no figures.
pub fn part(sittings: &[&RawSitting], acceptable: f64) -> Value {
    let turns = turns(sittings);
    let answers: Vec<&RawTurn> = turns.iter().filter(|turn| turn.counts()).collect();
    let mut days: Vec<i64> = sittings.iter().map(|it| int(&it.head["day"])).collect();
    days.dedup();
    let last = *days.last().unwrap();
    json!({
        "player": sittings.last().unwrap().head.get("player"), "instrument": sittings[0].head["instrument"],
        "simulated": sittings[0].head["simulated"], "days": days,
        "sittings": (0..sittings.len()).map(|at| sitting(sittings[at], at, &answers)).collect::<Vec<_>>(),
        "weeks": week(sittings, last).zip(week(sittings, last - 7)).map(|(this, before)| json!([this, before])),
        "keys": KEYS.iter().filter_map(|key| of_key(key, &turns, &answers)).collect::<Vec<_>>(),
        "patterns": patterns(&answers),
        "best": best(&answers, acceptable), "worst": worst(&answers), "back": back(&answers), "kept": [kept(&answers, 7, 30), kept(&answers, 30, i64::MAX)],
        "held_out": held_out(&answers),
        "steadiness": steadiness(sittings, &answers),
        "pitches": pitches(&answers).iter().map(|(midi, [up, down, all])| json!({
            "midi": midi, "written_midi": midi + TRUMPET, "times": all.len(), "up_cents": median(up),
            "down_cents": median(down), "all_cents": median(all), "spread_cents": spread(all),
        })).collect::<Vec<_>>(),
    })
}

fn sitting(it: &RawSitting, at: usize, answers: &[&RawTurn]) -> Value {
    let mine: Vec<&&RawTurn> = answers.iter().filter(|answer| answer.sitting == at).collect();
    let sounded = |is: &dyn Fn(&RawTurn) -> bool| it.turns.iter().filter(|turn| turn.sounded() && is(turn)).count();
    let stepped = |step: &str| mine.iter().filter(|turn| turn.judged.as_ref().unwrap()["step"] == step).count();
    let [answered, silent, broken] = it.answered();
    let (rests, resting) = it.rests();
    let points: Vec<(f64, f64)> = (mine.iter())
        .filter_map(|turn| Some((num(&turn.cue["at_s"]), turn.verdict()["centre_cents"].as_f64()?)))
        .collect();
    json!({
        "started": it.head["started"], "day": it.head["day"], "lasted_s": it.lasted(), "sounding_s": it.sounding(),
        "rests": rests, "resting_s": resting,
        "cues": it.turns.iter().filter(|turn| turn.chosen() && turn.cue["repeat"] != true).count(),
        "answered": answered, "left_silent": silent, "not_judged": broken,
        "something_else": sounded(&|turn| turn.chosen() && turn.related() == Some(false) && !turn.contested),
        "asked_again": sounded(&|turn| turn.why() == "again"), "whole": mine.iter().filter(|turn| turn.whole()).count(),
        "up": stepped("up"), "same_tempo": stepped("stay"), "slower": stepped("down"),
        "contested": sounded(&|turn| turn.chosen() && turn.contested),
        "calibrated": it.head.get("delay_s").is_some(), "simulated": it.head["simulated"], "ended": it.ended().is_some(),
        "dropped_samples": it.ended().map_or(json!(0), |ended| ended["dropped_samples"].clone()),
        "offset_cents": median(&points.iter().map(|point| point.1).collect::<Vec<_>>()), "drift_cents": drift(&points),
        "unfit": [],
    })
}

/// The middle slope of all pairs of answers times the time from the first to the last.
fn drift(points: &[(f64, f64)]) -> Option<f64> {
    let thin: Vec<&(f64, f64)> = points.iter().step_by(points.len().div_ceil(300).max(1)).collect();
    let mut slopes = Vec::new();
    for (n, one) in thin.iter().enumerate() {
        slopes.extend(thin[n + 1..].iter().filter(|other| other.0 != one.0).map(|it| (it.1 - one.1) / (it.0 - one.0)));
    }
    let slope = median(&slopes).filter(|_| points.len() >= 8)?;
    Some(slope * (points.last()?.0 - points[0].0))
}

fn of_key(key: &str, turns: &[RawTurn], answers: &[&RawTurn]) -> Option<Value> {
    let asked = |turn: &&RawTurn| turn.key() == key && turn.chosen() && turn.cue["repeat"] != true;
    let cues = turns.iter().filter(asked).count();
    let mine: Vec<&RawTurn> = answers.iter().filter(|answer| answer.key() == key).copied().collect();
    if cues == 0 && mine.is_empty() {
        return None;
    }
    // First tries of a key are of a day and a pattern.
    let (first_whole, tries) = first_tries(&mine);
    let place = KEYS.iter().position(|it| *it == key).unwrap();
    let reflex = |form: &&str| {
        let times = mine.iter().filter(|answer| answer.cue["form"] == **form).filter_map(|answer| answer.reflex());
        let times: Vec<f64> = times.collect();
        let (middle, spread) = (median(&times)?, spread(&times)?);
        Some(json!({ "cue": form, "times": times.len(), "median_s": middle, "spread_s": spread }))
    };
    Some(json!({
        "concert_key": key, "written_key": KEYS[(place + 2) % 12], "cues": cues, "answers": mine.len(),
        "whole": mine.iter().filter(|it| it.whole()).count(), "right": mine.iter().map(|it| it.right()).sum::<i64>(),
        "of": mine.iter().map(|it| it.of()).sum::<i64>(), "first_tries": tries, "first_whole": first_whole,
        "pace_quarter_per_minute": middle(&mine, RawTurn::pace_held),
        "tempo_held_quarter_per_minute": mine.iter().filter(|it| it.up()).filter_map(|it| it.held()).reduce(f64::max),
        "late_s": middle(&mine, |it| it.verdict()["late_s"].as_f64()),
        "reflex": FORMS.iter().filter_map(reflex).collect::<Vec<_>>(),
    }))
}

fn patterns(answers: &[&RawTurn]) -> Vec<Value> {
    let mut names: Vec<&str> = Vec::new();
    answers.iter().for_each(|it| {
        if !names.contains(&it.pattern()) {
            names.push(it.pattern())
        }
    });
    let of = |name: &&str| {
        let mine: Vec<&RawTurn> = answers.iter().filter(|it| it.pattern() == *name).copied().collect();
        let (first_whole, tries) = first_tries(&mine);
        json!({
            "pattern": name, "title": mine[0].cue["title"], "answers": mine.len(),
            "keys": mine.iter().map(|it| it.key()).collect::<BTreeSet<_>>().len(),
            "whole": mine.iter().filter(|it| it.whole()).count(), "right": mine.iter().map(|it| it.right()).sum::<i64>(),
            "of": mine.iter().map(|it| it.of()).sum::<i64>(), "first_tries": tries, "first_whole": first_whole,
            "pace_quarter_per_minute": middle(&mine, RawTurn::pace), "reflex_s": middle(&mine, RawTurn::reflex),
        })
    };
    names.iter().map(of).collect()
}

/// Whole ones in tune that did not jump their cue: fewest stands, quickest tempo asked, shortest reflex, evenest.
fn best(answers: &[&RawTurn], acceptable: f64) -> Vec<Value> {
    let within = |cents: &Value| cents.as_f64().is_none_or(|cents| cents.abs() <= acceptable);
    let in_tune = |it: &RawTurn| {
        let notes = it.verdict()["expected"].as_array().unwrap();
        within(&it.verdict()["centre_cents"]) && notes.iter().all(|note| within(&note["cents"]))
    };
    let mut found: Vec<&&RawTurn> =
        answers.iter().filter(|it| it.whole() && it.verdict()["reflex"]["jumped"] != true && in_tune(it)).collect();
    let rank = |it: &RawTurn| {
        let or_last = |value: &Value| value.as_f64().unwrap_or(f64::INFINITY);
        let reflex = or_last(&it.verdict()["reflex"]["time_s"]);
        [it.stood() as f64, -it.tempo(), reflex, or_last(&it.verdict()["evenness_beat_hundredths"])]
    };
    found.sort_by(|a, b| rank(a).partial_cmp(&rank(b)).unwrap());
    found.iter().take(3).map(|it| take(it)).collect()
}

/// Not whole: the smallest share right, most notes too many, latest.
fn worst(answers: &[&RawTurn]) -> Vec<Value> {
    let mut found: Vec<&&RawTurn> = answers.iter().filter(|it| !it.whole()).collect();
    let rank = |it: &RawTurn| {
        let share = it.right() as f64 / it.of().max(1) as f64;
        let at = [int(&it.verdict()["extra"]), it.sitting as i64, int(&it.cue["cue"])];
        (share, at.map(|number| -number))
    };
    found.sort_by(|a, b| rank(a).partial_cmp(&rank(b)).unwrap());
    found.iter().take(3).map(|it| take(it)).collect()
}

fn take(it: &RawTurn) -> Value {
    let place = KEYS.iter().position(|key| *key == it.key()).unwrap();
    let judged = it.judged.as_ref().unwrap();
    let step = |step: &Value| match step.as_str().unwrap() {
        "stay" => "same tempo".to_owned(),
        "down" => "slower".to_owned(),
        other => other.to_owned(),
    };
    let sound = it.answer.as_ref().unwrap().get("sound");
    json!({
        "sitting_index": it.sitting, "cue": it.cue["cue"], "at_s": it.cue["at_s"], "pattern": it.cue["title"],
        "concert_key": it.key(), "written_key": KEYS[(place + 2) % 12], "right": it.right(), "of": it.of(),
        "sentence": judged["sentence"], "step": judged.get("step").map(step),
        "sound_at_s": sound.map(|sound| num(&sound["first_sample"]) / it.rate),
        "sound_from_sample": sound.map(|sound| &sound["first_sample"]), "sound_samples": sound.map(|sound| &sound["samples"]),
    })
}

/// The first answers of keys that came back after a day or more, longest away first.
fn back(answers: &[&RawTurn]) -> Vec<Value> {
    let mut found: Vec<(&RawTurn, i64)> = answers.iter().filter_map(|it| Some((*it, away(it)?))).collect();
    found.sort_by_key(|(_, days)| -days);
    let of = |(it, days): &(&RawTurn, i64)| {
        let place = KEYS.iter().position(|key| *key == it.key()).unwrap();
        json!({
            "pattern": it.cue["title"], "concert_key": it.key(), "written_key": KEYS[(place + 2) % 12], "days": days,
            "whole": it.whole(), "right": it.right(), "of": it.of(),
        })
    };
    found.iter().map(of).collect()
}

/// The key came back after so many days.
pub fn away(it: &RawTurn) -> Option<i64> {
    let opened = ["opening", "opening_here"].contains(&it.why()) && until(it).is_none();
    it.cue["reason"]["days"].as_i64().filter(|days| opened && *days > 0)
}

/// The key is held out of practice until this day.
fn until(it: &RawTurn) -> Option<i64> {
    it.cue["reason"]["held_out_until_day"].as_i64()
}

pub fn kept(answers: &[&RawTurn], from: i64, under: i64) -> Value {
    let mine: Vec<&&RawTurn> =
        answers.iter().filter(|it| away(it).is_some_and(|days| (from..under).contains(&days))).collect();
    json!({ "away_days": from, "whole": mine.iter().filter(|it| it.whole()).count(), "tries": mine.len() })
}

/// Keys held out: their answers, and the first of the day of the others on those days in those patterns.
pub fn held_out(answers: &[&RawTurn]) -> Vec<Value> {
    let of = |mine: &[&RawTurn]| {
        let whole = mine.iter().filter(|it| it.whole()).count();
        json!({ "whole": whole, "tries": mine.len(), "reflex_s": middle(mine, RawTurn::reflex) })
    };
    let of_key = |key: &&str| {
        let mine: Vec<&RawTurn> =
            answers.iter().filter(|it| it.key() == *key && until(it).is_some()).copied().collect();
        let last = until(mine.last()?);
        let mut seen: BTreeSet<(i64, &str, &str)> = BTreeSet::new();
        let mut others = Vec::new();
        for it in answers.iter().filter(|it| until(it).is_none() && it.key() != *key) {
            let there = mine.iter().any(|out| (out.day, out.pattern()) == (it.day, it.pattern()));
            if there && seen.insert((it.day, it.pattern(), it.key())) {
                others.push(*it);
            }
        }
        Some(json!({ "concert_key": key, "until_day": last, "answers": of(&mine), "others_first_tries": of(&others) }))
    };
    KEYS.iter().filter_map(of_key).collect()
}
