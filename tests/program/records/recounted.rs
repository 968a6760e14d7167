//! Every figure of review, log and page is counted anew from the lines of the records, as `src/report/mod.rs` defines it.

mod logged;
pub mod paged;
pub mod raw;
pub mod reviewed;
pub mod steady;

use std::fs;

use earfirst::outside::session::{Event, write_line};
use serde_json::Value;

use crate::desk::Desk;
use crate::records::months::{Course, Student};
use crate::records::who::player;
use raw::{RawSitting, int};

const PATTERNS: [&str; 2] = ["five-note-row-up-and-down", "whole-tone-up"];

/// The number of figures that were compared, and those that differ.
#[derive(Default)]
pub struct Tally {
    compared: usize,
    differ: Vec<String>,
}

impl Tally {
    /// Compares, one by one, the figures that the program said with those counted here. A figure that was not counted is not compared.
    pub fn compare(&mut self, at: &str, said: &Value, counted: &Value) {
        match (said, counted) {
            (Value::Object(said), Value::Object(counted)) => {
                for (name, value) in counted {
                    self.compare(&format!("{at}.{name}"), said.get(name).unwrap_or(&Value::Null), value);
                }
            }
            (Value::Array(one), Value::Array(other)) if one.len() == other.len() => {
                one.iter().zip(other).enumerate().for_each(|(n, (a, b))| self.compare(&format!("{at}[{n}]"), a, b));
            }
            _ => {
                self.compared += 1;
                // A sum may differ in its last digits by the order in which it was made.
                let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.abs().max(1.0);
                let same = said.as_f64().zip(counted.as_f64()).map_or(said == counted, |(a, b)| near(a, b));
                if !same {
                    self.differ.push(format!("{at}: said {said}, counted {counted}"));
                }
            }
        }
    }
}

/// Makes some of the cues into cues of keys that are held out of practice.
fn held_out(mut lines: Vec<Value>) -> Vec<Value> {
    for (number, line) in lines.iter_mut().filter(|line| line["event"] == "cued").enumerate() {
        if number % 40 == 2 {
            line["reason"] = serde_json::json!({ "why": "opening", "days": 7, "held_out_until_day": 30_000 + number });
        }
    }
    lines
}

/// Adds to a sitting what real sittings have: answers that are contested; cues that are asked again, left without an answer and sounded
/// once more, answered with something else, broken off or taken apart.
fn disturbed(events: Vec<Event>, ends: bool) -> String {
    let mut lines: Vec<Value> = Vec::new();
    let all = held_out(events.iter().map(|event| serde_json::from_str(&write_line(event)).unwrap()).collect());
    let mut number = 0;
    for line in all {
        let (kind, mut line) = (line["event"].as_str().unwrap().to_owned(), line);
        number += i64::from(kind == "cued");
        let again = |lines: &[Value], reason: Option<Value>| -> Vec<Value> {
            let from = lines.iter().rposition(|line| line["event"] == "cued").unwrap();
            let mut copy = lines[from..].to_vec();
            for line in &mut copy {
                line["cue"] = (int(&line["cue"]) + 5000).into();
            }
            copy[0]["repeat"] = true.into();
            reason.into_iter().for_each(|reason| copy[0]["reason"] = reason);
            copy
        };
        if kind == "answered" && number % 3 == 0 {
            line["sound"] = serde_json::json!({ "first_sample": number * 300_007, "samples": 150_000 });
        }
        match (kind.as_str(), number % 40) {
            ("judged", 7) => {
                lines.push(line.clone());
                lines.push(serde_json::json!({ "event": "contested", "at_s": line["at_s"], "cue": line["cue"] }));
            }
            ("judged", 11) => {
                lines.push(line);
                let copy = again(&lines, Some(serde_json::json!({ "why": "again", "slower": false })));
                lines.extend(copy);
            }
            ("judged", 13) => {
                lines.push(line);
                let copy = again(&lines, Some(serde_json::json!({ "why": "apart", "stage": "seam" })));
                lines.extend(copy);
            }
            ("judged", 17) => {
                // Nothing came, then the cue sounded once more.
                lines.push(line);
                let copy = again(&lines, None);
                lines.pop();
                lines.last_mut().unwrap()["heard"] = serde_json::json!([]);
                lines.extend(copy);
            }
            ("answered", 19) => {
                line["heard"] = serde_json::json!([]);
                lines.push(line);
            }
            ("judged", 19) | ("answered" | "judged", 23) => {}
            ("judged", 29) => {
                line["verdict"]["related"] = false.into();
                lines.push(line);
            }
            ("judged", 31) => {
                // Judged once more, otherwise.
                lines.push(line.clone());
                line["verdict"]["extra"] = 1.into();
                lines.push(line);
            }
            ("ended" | "resumed", _) if !ends => {}
            _ => lines.push(line),
        }
    }
    lines.iter().map(|line| line.to_string() + "\n").collect()
}

/// Writes records of three players over three months into one folder, and hands back their texts.
fn three_months(desk: &Desk, today: i32) -> Vec<String> {
    let folder = desk.0.join("data/sessions");
    fs::create_dir_all(&folder).unwrap();
    let mut students = [
        (Student::new(Course::Improves, 21, player(0xa1, "Anna")).also_in_tempo(), 1),
        (Student::new(Course::StandsStill, 22, player(0xb2, "Ben")), 3),
        (Student::new(Course::Improves, 23, None).also_in_tempo(), 6),
    ];
    let mut texts = Vec::new();
    for (who, (student, every)) in students.iter_mut().enumerate() {
        let away = |day: &i32| who != 2 || !(today - 60..today - 24).contains(day);
        for (n, day) in (today - 88..=today).step_by(*every * 2).filter(away).enumerate() {
            let events = student.sitting(PATTERNS[n % 5 / 4], day, 10 * who as u32, 45);
            texts.push(disturbed(events, n % 9 != 4));
            fs::write(folder.join(format!("{who}-{n:03}.jsonl")), texts.last().unwrap()).unwrap();
        }
    }
    texts
}

/// The sittings of one player, in the order of time.
fn of<'a>(all: &'a [RawSitting], player: &Value) -> Vec<&'a RawSitting> {
    let id = |value: Option<&Value>| value.map(|player| player["id"].clone()).unwrap_or_default();
    let mut mine: Vec<&RawSitting> =
        all.iter().filter(|it| id(it.head.get("player")) == id(Some(player).filter(|it| !it.is_null()))).collect();
    mine.sort_by_key(|it| (int(&it.head["day"]), it.head["started"].to_string()));
    mine
}

#[test]
fn every_figure_is_counted_anew_from_the_lines_of_the_records_and_none_differs() {
    let desk = Desk::new("recounted");
    let today = i32::try_from(std::time::SystemTime::UNIX_EPOCH.elapsed().unwrap().as_secs() / 86_400).unwrap();
    let all: Vec<RawSitting> = three_months(&desk, today).iter().map(|text| RawSitting::read(text)).collect();
    let json = |line: &str| -> Value { serde_json::from_str(&desk.done(line)).unwrap() };
    let (review, log) = (json("review data/sessions --json"), json("log --json"));
    desk.done("review data/sessions --html page.html");
    let page = fs::read_to_string(desk.0.join("page.html")).unwrap();
    let pages: Vec<&str> = page.split("<div class=\"part\" ").skip(1).collect();
    let mut tallies: Vec<(&str, Tally)> = Vec::new();
    let parts = review["parts"].as_array().unwrap();
    assert_eq!((parts.len(), log["parts"].as_array().unwrap().len(), pages.len()), (3, 3, 3));
    for (n, part) in parts.iter().enumerate() {
        let mine = of(&all, &part["player"]);
        let mut tally = Tally::default();
        tally.compare(&format!("review[{n}]"), part, &reviewed::part(&mine, paged::ACCEPTABLE));
        tallies.push(("review", tally));
        let mut tally = Tally::default();
        paged::compare(&mut tally, &mine, pages[n]);
        tallies.push(("page", tally));
    }
    for (n, part) in log["parts"].as_array().unwrap().iter().enumerate() {
        let mut tally = Tally::default();
        tally.compare(&format!("log[{n}]"), part, &logged::part(&of(&all, &part["player"]), int(&log["today_day"])));
        tallies.push(("log", tally));
    }
    for what in ["review", "log", "page"] {
        let mine = || tallies.iter().filter(|(of, _)| *of == what).map(|(_, tally)| tally);
        println!(
            "{what}: {} figures, {} differ",
            mine().map(|it| it.compared).sum::<usize>(),
            mine().map(|it| it.differ.len()).sum::<usize>()
        );
    }
    let differ: Vec<&String> = tallies.iter().flat_map(|(_, tally)| &tally.differ).collect();
    let compared: usize = tallies.iter().map(|(_, tally)| tally.compared).sum();
    assert!(differ.is_empty(), "{} of {compared} differ:\n{differ:#?}", differ.len());
    assert!(compared > 4000, "{compared} figures");
    // And one that did differ would be seen.
    let text = fs::read_to_string(desk.0.join("data/sessions/0-003.jsonl")).unwrap();
    let mut other: Vec<RawSitting> = all;
    let place = other.iter().position(|it| it.head == RawSitting::read(&text).head).unwrap();
    other[place] = RawSitting::read(&text.replacen("\"extra\":0", "\"extra\":1", 1));
    let mut tally = Tally::default();
    tally.compare("", &review["parts"][0], &reviewed::part(&of(&other, &parts[0]["player"]), paged::ACCEPTABLE));
    assert!(tally.differ.len() >= 3, "{:?}", tally.differ);
}
