//! A part of the teacher's page, read from its text and counted anew.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Value, json};

use super::Tally;
use super::raw::{RawSitting, RawTurn, first_tries, int, median, middle, num, pitches, turns};
use super::reviewed::{KEYS, held_out, kept};
use super::steady::steadiness;

/// Cents that pass without a word at the level of a student (`assets/instruments.toml`).
pub const ACCEPTABLE: f64 = 35.0;

type Measure = fn(&RawTurn) -> Option<f64>;

pub fn compare(tally: &mut Tally, sittings: &[&RawSitting], page: &str) {
    let all = turns(sittings);
    let answers: Vec<&RawTurn> = all.iter().filter(|turn| turn.counts()).collect();
    facts(tally, sittings, &answers, page);
    for (heading, measure, goal) in [
        ("The keys by reflex time", RawTurn::reflex as Measure, "goal_reflex_s"),
        ("The keys by pace", RawTurn::pace as Measure, "goal_quarter_per_minute"),
    ] {
        let there = answers.iter().any(|answer| measure(answer).is_some());
        tally.compare(heading, &json!(page.contains(heading)), &json!(there));
        if there {
            let table = between(page, heading, "</section>");
            let goal = answers.iter().rfind(|it| measure(it).is_some()).map(|it| &sittings[it.sitting].head[goal]);
            keys(tally, heading, &answers, measure, num(goal.unwrap()), table);
        }
    }
    firm(tally, sittings, &answers, page);
    tuned(tally, &answers, page);
    takes(tally, "To hear again", &to_hear_again(&answers), page);
    takes(tally, "At their best", &at_best(&answers, sittings), page);
}

/// What stands between two texts; nothing where they do not stand there.
pub fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let rest = text.split_once(from).map_or("", |(_, rest)| rest);
    rest.split_once(to).map_or(rest, |(between, _)| between)
}

/// The text of a piece of HTML, without its marks.
pub fn plain(html: &str) -> String {
    let words: String = html.split('<').map(|part| part.split_once('>').map_or(part, |(_, text)| text)).collect();
    words.replace('♭', "b").replace('♯', "#")
}

/// The rows of the first table: the name, the figures, and the whole row.
pub fn rows(html: &str) -> Vec<(String, Vec<String>, &str)> {
    let body = between(html, "<tbody>", "</tbody>");
    let row = |row: &'_ str| {
        let name = plain(between(row, "<th scope=\"row\">", "</th>"));
        let cells = row.split("<td class=\"figure").skip(1);
        (name, cells.map(|cell| plain(between(cell, ">", "</td>"))).collect::<Vec<String>>())
    };
    body.split("<tr>").skip(1).map(|it| (row(it).0, row(it).1, it)).collect()
}

fn date(day: i64) -> String {
    let date = jiff::civil::date(1970, 1, 1).saturating_add(jiff::Span::new().days(day));
    date.strftime("%-d %B %Y").to_string()
}

fn facts(tally: &mut Tally, sittings: &[&RawSitting], answers: &[&RawTurn], page: &str) {
    let days: BTreeSet<i64> = sittings.iter().map(|it| int(&it.head["day"])).collect();
    let minutes = (sittings.iter().map(|it| it.sounding()).sum::<f64>() / 60.0).round();
    let away = days.iter().zip(days.iter().skip(1)).map(|(one, next)| next - one).max().unwrap();
    let said = plain(between(page, "<p class=\"facts\">", "</p>"));
    for fact in [
        format!("{} sittings on {} days", sittings.len(), days.len()),
        format!("{minutes:.0} minutes of sound"),
        format!("{} answers", answers.len()),
        format!("longest time away: {away} days"),
        date(*days.last().unwrap()),
    ] {
        tally.compare(&format!("facts: {said}: {fact}"), &json!(said.contains(&fact)), &json!(true));
    }
}

fn keys(tally: &mut Tally, heading: &str, answers: &[&RawTurn], of: Measure, goal: f64, table: &str) {
    let reflex = heading.ends_with("time");
    let shown = |value: f64| if reflex && value < 10.0 { format!("{value:.1}") } else { format!("{value:.0}") };
    let unit = if reflex { format!("{} s.", shown(goal)) } else { format!("quarter = {}.", shown(goal)) };
    tally.compare("goal", &json!(between(table, "Dotted: the goal, ", "</p>")), &json!(unit));
    let days: BTreeSet<i64> = answers.iter().filter(|it| of(it).is_some()).map(|it| it.day).collect();
    let third = days.len().div_ceil(3);
    let first: Vec<i64> = days.iter().take(third).copied().collect();
    let last: Vec<i64> = days.iter().rev().take(third).copied().collect();
    let mut expected: BTreeMap<usize, Vec<&RawTurn>> = BTreeMap::new();
    for answer in answers {
        // Round the circle of fifths from a written C, which is two fifths above what sounds (common practice).
        let sounding = KEYS.iter().position(|key| *key == answer.key()).unwrap();
        expected.entry((sounding + 2) % 12).or_default().push(answer);
    }
    let rows = rows(table);
    tally.compare(heading, &json!(rows.len()), &json!(expected.len()));
    for ((name, cells, row), (place, mine)) in rows.iter().zip(expected) {
        let over = |days: &[i64]| {
            let mine: Vec<&RawTurn> = mine.iter().filter(|it| days.contains(&it.day)).copied().collect();
            middle(&mine, of).map_or_else(|| "–".to_owned(), shown)
        };
        let (whole, tries) = first_tries(&mine);
        let sum = |of: fn(&RawTurn) -> i64| mine.iter().map(|it| of(it)).sum::<i64>() as f64;
        let right = format!("{:.0} %", sum(RawTurn::right) / sum(RawTurn::of) * 100.0);
        let counted = json!([over(&first), over(&last), format!("{whole} of {tries}"), right, mine.len().to_string()]);
        tally.compare(&format!("{heading}, {name}"), &json!(name), &json!(KEYS[place]));
        tally.compare(&format!("{heading}, {name}"), &json!(cells), &counted);
        let mut by_day: BTreeMap<i64, Vec<f64>> = BTreeMap::new();
        mine.iter().for_each(|it| by_day.entry(it.day).or_default().extend(of(it)));
        by_day.retain(|_, values| !values.is_empty());
        let course: Vec<String> = by_day
            .iter()
            .map(|(day, values)| format!("{} on {}", shown(median(values).unwrap()), date(*day)))
            .collect();
        let said = between(between(row, " day by day, ", "\""), ": ", ".\u{0}");
        let said: Vec<&str> = said.trim_end_matches('.').split(", ").filter(|it| !it.is_empty()).collect();
        tally.compare(&format!("{heading}, {name}, day by day"), &json!(said), &json!(course));
    }
}

/// What was kept, the keys that were held out, and how steady the times are.
fn firm(tally: &mut Tally, sittings: &[&RawSitting], answers: &[&RawTurn], page: &str) {
    let mut counted = Vec::new();
    let right = |it: &Value| format!("{} of {}", it["whole"], it["tries"]);
    let away = [(7, 30, "after a week or more away, under a month"), (30, i64::MAX, "after a month or more away")];
    let back = away.map(|(from, under, after)| (kept(answers, from, under), after));
    let back: Vec<String> =
        (back.iter().filter(|(it, _)| it["tries"] != 0)).map(|(it, after)| format!("{after}: {}", right(it))).collect();
    if !back.is_empty() {
        counted.push(format!("All right at the first answer {}.", back.join("; ")));
    }
    for it in held_out(answers) {
        let of = |it: &Value| {
            let reflex = it["reflex_s"].as_f64().map_or_else(String::new, |time| format!(", reflex {time:.1} s"));
            format!("{} all right{reflex}", right(it))
        };
        let (mine, others) = (of(&it["answers"]), of(&it["others_first_tries"]));
        let sounding = KEYS.iter().position(|key| it["concert_key"] == *key).unwrap();
        let (key, until) = (KEYS[(sounding + 2) % 12], date(int(&it["until_day"])));
        let few = if int(&it["answers"]["tries"]) < 8 { " So few tries say little yet." } else { "" };
        counted.push(format!("{key}, held out of practice and asked once a week until {until}: {mine}; first answers of the other keys on those days {others}.{few}"));
    }
    let steady = steadiness(sittings, answers).map(|it| it["all"].clone());
    if let Some((it, (first, last))) =
        steady.as_ref().and_then(|it| Some((it, it["spread_first"].as_f64().zip(it["spread_last"].as_f64())?)))
    {
        let fell = match it["fell_beyond_speed"].as_bool() {
            Some(true) => {
                "It fell by more than growing quicker explains: a sign that answers begin by themselves.".to_owned()
            }
            Some(false) if last >= first => "It did not fall.".to_owned(),
            Some(false) => "It did not fall by more than growing quicker explains.".to_owned(),
            None => format!(
                "Whether the spread falls by more than growing quicker explains is told from 360 answers on that follow another of the same pattern, key and form of cue, over all keys; so far there are {}.",
                it["times"]
            ),
        };
        let (first, last) = (100.0 * first, 100.0 * last);
        counted.push(format!(
            "Spread of reflex times: {first:.0} % of the middle time at first, {last:.0} % at last. {fell}"
        ));
    }
    let section = between(page, "How firm it is", "</section>");
    let said: Vec<String> = section.split("<p>").skip(1).map(|it| plain(between(it, "", "</p>"))).collect();
    tally.compare("how firm", &json!(said), &json!(counted));
}

/// All notes, the highest first, and whether some were heard too rarely to be judged.
fn tuned(tally: &mut Tally, answers: &[&RawTurn], page: &str) {
    let section = between(page, "Intonation of the written notes", "</section>");
    let heard: Vec<_> = pitches(answers).into_values().rev().collect();
    let signed = |values: &Vec<f64>| match median(values).map(|cents| cents.round() as i64) {
        None => "–".to_owned(),
        Some(0) => "0".to_owned(),
        Some(cents) => format!("{cents:+}"),
    };
    let counted: Vec<Vec<String>> = (heard.iter())
        .map(|row| [row.each_ref().map(signed).to_vec(), vec![row[2].len().to_string()]].concat())
        .collect();
    let said: Vec<Vec<String>> = rows(section).into_iter().map(|(_, cells, _)| cells).collect();
    tally.compare("intonation", &json!(said), &json!(counted));
    let rare = heard.iter().any(|row| row[2].len() < 8);
    tally.compare("rare pitches", &json!(section.contains("fewer than eight times nothing")), &json!(rare));
}

/// Not whole: the smallest share right, later ones first, one a key, three.
fn to_hear_again<'a>(answers: &[&'a RawTurn]) -> Vec<&'a RawTurn> {
    let mut found: Vec<&RawTurn> = answers.iter().filter(|it| !it.whole()).copied().collect();
    let share = |it: &RawTurn| it.right() as f64 / it.of().max(1) as f64;
    found.sort_by_key(|it| std::cmp::Reverse((it.sitting, int(&it.cue["cue"]))));
    found.sort_by(|a, b| share(a).partial_cmp(&share(b)).unwrap());
    one_a_key(found)
}

/// The best answers, one of each key: those that went up, were all right and in tune, never stood still and reached the goal. Those asked
/// at the quickest tempo come first, at one tempo those with the shortest reflex time.
fn at_best<'a>(answers: &[&'a RawTurn], sittings: &[&RawSitting]) -> Vec<&'a RawTurn> {
    let within = |cents: &serde_json::Value| cents.as_f64().is_none_or(|cents| cents.abs() <= ACCEPTABLE);
    let in_tune = |it: &RawTurn| {
        let notes = it.verdict()["expected"].as_array().unwrap();
        within(&it.verdict()["centre_cents"]) && notes.iter().all(|note| within(&note["cents"]))
    };
    let at_goal = |it: &RawTurn| {
        let head = &sittings[it.sitting].head;
        match it.verdict().get("reflex") {
            Some(reflex) => reflex["counted"] == true && num(&reflex["time_s"]) <= num(&head["goal_reflex_s"]),
            // Under the goal by less than half a quarter a minute still reads as the goal.
            None => it.held().is_some_and(|held| held >= num(&head["goal_quarter_per_minute"]) - 0.5),
        }
    };
    let is = |it: &&&RawTurn| it.whole() && it.up() && it.stood() == 0 && in_tune(it) && at_goal(it);
    let mut found: Vec<&RawTurn> = answers.iter().filter(is).copied().collect();
    let rank = |it: &RawTurn| [-it.tempo(), it.verdict()["reflex"]["time_s"].as_f64().unwrap_or(f64::INFINITY)];
    found.sort_by(|a, b| rank(a).partial_cmp(&rank(b)).unwrap());
    one_a_key(found)
}

fn one_a_key(found: Vec<&RawTurn>) -> Vec<&RawTurn> {
    let mut keys = BTreeSet::new();
    found.into_iter().filter(|it| keys.insert(it.key())).take(3).collect()
}

fn takes(tally: &mut Tally, heading: &str, found: &[&RawTurn], page: &str) {
    let section = between(page, heading, "</section>");
    let said: Vec<String> =
        section.split("<p class=\"place\">").skip(1).map(|it| plain(between(it, "", "</p>"))).collect();
    let place = |it: &&RawTurn| {
        let sound = it.answer.as_ref().unwrap().get("sound").map(|sound| num(&sound["first_sample"]) / it.rate);
        let at = sound.unwrap_or_else(|| num(&it.cue["at_s"])) as u64;
        let from = if sound.is_some() { "in its sound" } else { "from its beginning" };
        let sitting = it.sitting + 1;
        let (minutes, seconds, tempo) = (at / 60, at % 60, it.tempo());
        let day = date(it.day);
        format!("{day}, sitting {sitting}, {minutes}:{seconds:02} {from}; asked at quarter\u{a0}=\u{a0}{tempo:.0}")
    };
    tally.compare(heading, &json!(said), &json!(found.iter().map(place).collect::<Vec<_>>()));
}
