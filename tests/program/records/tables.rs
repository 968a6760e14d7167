//! The tables for a school have the same figures as `review --json`, and nothing that shows who a player is.
//!
//! With `EARFIRST_LONGER=1` every query of `assets/sql` runs on DuckDB and on Spark, where python3 has them (`school/compare.py`).

use std::collections::BTreeMap;
use std::fs::File;
use std::path::{Path, PathBuf};

use earfirst::outside::session::Event;
use earfirst::outside::units::Cents;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use serde_json::Value;

use crate::desk::Desk;
use crate::records::class::{Played, keep, sitting};
use crate::records::who::player;

/// 30 November 2026 by GNU date.
const DAY: i32 = 20_787;
const NAMES: [&str; 3] = ["Anna", "Bert", "Cora"];
const INSTRUMENTS: [&str; 3] = ["trumpet", "alto-sax", "flute"];
const MAKE: &str = "tables students --to tables --class brass-1 --key own/school.key";

type Row = BTreeMap<String, Field>;

fn rows(path: &Path) -> Vec<Row> {
    let reader = SerializedFileReader::new(File::open(path).unwrap()).unwrap();
    let row = |row: parquet::record::Row| row.get_column_iter().map(|(name, it)| (name.clone(), it.clone())).collect();
    reader.get_row_iter(None).unwrap().map(|it| row(it.unwrap())).collect()
}

fn table(desk: &Desk, name: &str) -> Vec<Row> {
    let months = ["2026-10", "2026-11"];
    let file = |month| desk.0.join(format!("tables/{name}/class=brass-1/month={month}/part-0.parquet"));
    months.into_iter().flat_map(|month| rows(&file(month))).collect()
}

fn whole_number(row: &Row, name: &str) -> i64 {
    match &row[name] {
        Field::Int(number) => i64::from(*number),
        Field::Long(number) => *number,
        Field::Null => 0,
        other => panic!("{name}: {other:?}"),
    }
}

fn is(row: &Row, name: &str) -> bool {
    matches!(row[name], Field::Bool(true))
}

fn word(row: &Row, name: &str) -> String {
    match &row[name] {
        Field::Str(word) => word.clone(),
        other => panic!("{name}: {other:?}"),
    }
}

/// Writes the records of three players on three instruments: each has one sitting in October and two in November, in several keys. The
/// cents of the notes differ from note to note, player to player and day to day.
fn students(desk: &Desk) {
    for ((name, instrument), id) in NAMES.into_iter().zip(INSTRUMENTS).zip(1u8..) {
        let whose = player(id, name).unwrap();
        for (nth, day) in [DAY - 40, DAY - 9, DAY - 2].into_iter().enumerate() {
            let answers: Vec<Played> = (0..14 + u32::from(id)).map(|n| (n % 7, n % 3 == u32::from(id) - 1)).collect();
            let mut events = sitting(&whose, day.max(20_758), &answers, 20.0, true);
            let mut cents = f64::from(id) + nth as f64;
            for event in &mut events {
                match event {
                    Event::Began(began) => {
                        (began.instrument, began.day) = (instrument.to_owned(), day);
                        if nth == 0 {
                            began.started = "2026-10-21T18:00:00+02:00".to_owned();
                        }
                    }
                    Event::Judged(judgement) => {
                        for note in &mut judgement.verdict.expected {
                            cents = (cents * 7.3 + 1.7) % 31.0;
                            note.cents = note.cents.map(|_| Cents(cents - 15.0));
                        }
                    }
                    _ => {}
                }
            }
            keep(desk, &whose, &format!("secret-folder-{name}"), day, &events);
        }
    }
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    if values.len() % 2 == 1 { values[half] } else { (values[half - 1] + values[half]) / 2.0 }
}

#[test]
fn the_tables_hold_the_figures_of_the_review() {
    let desk = Desk::new("tables");
    students(&desk);
    let said = desk.done(MAKE);
    assert!(said.contains("2026-10: 3 sittings, 48 answers, 144 notes asked"), "{said}");
    let [sittings, answers, notes] = ["sittings", "answers", "notes"].map(|name| table(&desk, name));
    assert_eq!((sittings.len(), answers.len(), notes.len()), (9, 144, 432));
    let review: Value = serde_json::from_str(&desk.done("review students --json")).unwrap();
    let mut compared = 0;
    for part in review["parts"].as_array().unwrap() {
        let mine = |row: &&Row| word(row, "instrument") == part["instrument"].as_str().unwrap();
        for key in part["keys"].as_array().unwrap() {
            let of_key = |row: &&Row| mine(row) && word(row, "concert_key") == key["concert_key"].as_str().unwrap();
            let asked: Vec<&Row> = answers.iter().filter(of_key).collect();
            let scored: Vec<&&Row> = asked.iter().filter(|row| is(row, "scored")).collect();
            let sum = |name: &str| scored.iter().map(|row| whole_number(row, name)).sum::<i64>();
            let cues = asked.iter().filter(|row| is(row, "counts") && !is(row, "sounded_again")).count();
            assert_eq!(key["cues"], cues, "{key}");
            assert_eq!(key["answers"], scored.len(), "{key}");
            assert_eq!(key["whole"], scored.iter().filter(|row| is(row, "whole")).count(), "{key}");
            assert_eq!((&key["right"], &key["of"]), (&sum("notes_right").into(), &sum("notes_asked").into()), "{key}");
            assert_eq!(key["written_key"], word(asked[0], "written_key"), "{key}");
            compared += 6;
        }
        for pitch in part["pitches"].as_array().unwrap() {
            let right = |row: &&Row| {
                mine(row)
                    && is(row, "scored")
                    && word(row, "label") == "right"
                    && pitch["midi"] == whole_number(row, "sounded_midi")
            };
            let cents = |way: Option<&str>| -> Vec<f64> {
                let came = |row: &&Row| way.is_none_or(|way| row["came"] == Field::Str(way.to_owned()));
                let cents = |row: &Row| if let Field::Double(cents) = row["cents"] { Some(cents) } else { None };
                notes.iter().filter(right).filter(came).filter_map(cents).collect()
            };
            assert_eq!(pitch["times"], cents(None).len(), "{pitch}");
            assert_eq!(pitch["all_cents"], median(cents(None)), "{pitch}");
            if let Some(up) = pitch["up_cents"].as_f64() {
                assert_eq!(up, median(cents(Some("up"))), "{pitch}");
            }
            let written = notes.iter().find(right).map(|row| whole_number(row, "written_midi"));
            assert_eq!(pitch["written_midi"], written.unwrap(), "{pitch}");
            compared += 3;
        }
        let told = part["sittings"].as_array().unwrap();
        let sounding: f64 = told.iter().map(|it| it["sounding_s"].as_f64().unwrap()).sum();
        let mine = sittings.iter().filter(mine);
        let ours: f64 = mine.map(|row| if let Field::Double(it) = row["sounding_s"] { it } else { 0.0 }).sum();
        assert_eq!(ours, sounding);
    }
    assert!(compared > 200, "{compared}");
}

#[test]
fn nobody_is_named_and_a_month_is_written_anew() {
    let desk = Desk::new("tables-named");
    students(&desk);
    let said = desk.done(MAKE);
    assert!(said.contains("own/school.key, which was made now"), "{said}");
    let key = std::fs::read_to_string(desk.0.join("own/school.key")).unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(desk.0.join("own/school.key")).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
    let place = desk.0.join("tables/answers/class=brass-1/month=2026-11/part-0.parquet");
    let first = std::fs::read(&place).unwrap();
    for name in ["sittings", "answers", "notes"] {
        let file = desk.0.join(format!("tables/{name}/class=brass-1/month=2026-10/part-0.parquet"));
        let bytes = std::fs::read(&file).unwrap();
        let holds = |text: &str| bytes.windows(text.len()).any(|it| it == text.as_bytes());
        assert!(NAMES.iter().all(|name| !holds(name)), "no name");
        let ids = ["0101010101", "0202020202", "0303030303"];
        assert!(
            !ids.iter().any(|id| holds(id)) && !holds("secret-folder") && !holds(key.trim()) && !holds("All there")
        );
        assert!(!holds("five-notes-up"), "a pattern of a player's own may bear a name");
        let beside = std::fs::read_dir(file.parent().unwrap()).unwrap().count();
        assert_eq!(beside, 1, "nothing under a passing name is left");
    }
    let again = desk.done(MAKE);
    assert!(!again.contains("made now"), "{again}");
    assert_eq!(std::fs::read(&place).unwrap(), first, "the same records are the same bytes");
    // Another key is another pseudonym; the same one tells the months together.
    let players = |rows: &[Row]| rows.iter().map(|row| word(row, "player")).collect::<std::collections::BTreeSet<_>>();
    let before = players(&table(&desk, "answers"));
    assert_eq!(before.len(), 3, "{before:?}");
    desk.done("tables students --to tables --class brass-1 --key own/other.key");
    assert!(players(&table(&desk, "answers")).is_disjoint(&before));
    // Who is forgotten is gone once the months are written again, and other months stay.
    std::fs::remove_dir_all(desk.0.join("students/secret-folder-Anna")).unwrap();
    desk.done("tables students --to tables --class brass-1 --key own/other.key");
    assert_eq!(players(&table(&desk, "notes")).len(), 2);
}

#[test]
fn what_would_harm_is_refused() {
    let desk = Desk::new("tables-refused");
    students(&desk);
    let (code, said) = desk.run("tables students --to tables --key tables/school.key");
    assert!(code == 2 && said.contains("among the tables"), "{said}");
    let (code, said) = desk.run("tables students --to tables --class ../../up");
    assert!(code == 2 && said.contains("small letters"), "{said}");
    desk.file("wrong.key", b"secret");
    let (code, said) = desk.run("tables students --to tables --key wrong.key");
    assert!(code == 4 && said.contains("64 hexadecimal digits"), "{said}");
    desk.file("file", b"");
    let (code, said) = desk.run("tables students --to file --key own/school.key");
    assert!(code == 4 && said.contains("a file stands where a folder should be"), "{said}");
    assert!(!desk.0.join("tables").exists());
}

/// Words of SQL that the two engines understand differently, as running both has shown. A query has to do without them, so that it runs on
/// both.
const TRAPS: [&str; 34] = [
    "\"",
    "datediff",
    "date_trunc",
    "date_format",
    "strftime",
    "dayofweek",
    "weekday",
    "extract(",
    "epoch",
    "unix_timestamp",
    " div ",
    "//",
    "round(",
    "interval",
    "sum(whole",
    "quantile",
    "percentile(",
    "mad(",
    "count(distinct (",
    "log(",
    "concat",
    "string_agg",
    "listagg",
    "array_agg",
    "nvl",
    "arg_max",
    "struct(",
    "histogram",
    "ignore nulls",
    "left semi",
    "exclude",
    "stddev",
    "corr(",
    "regr_",
];

#[test]
fn what_counting_costs_stands_beside_the_answers_that_count_nowhere_else() {
    let desk = Desk::new("tables-divided");
    desk.done("demo major-triad-up --fast --plain --seed 4 --answers 13 --tempo 160 --second-task --player Anna");
    desk.done("tables data/sessions --to tables --class brass-1 --key own/school.key");
    let found = |name: &str| {
        let below = |path: PathBuf| std::fs::read_dir(path).unwrap().map(|it| it.unwrap().path()).next().unwrap();
        rows(&below(below(desk.0.join(format!("tables/{name}/class=brass-1")))))
    };
    let review: Value = serde_json::from_str(&desk.done("review data/sessions --json")).unwrap();
    let told = &review["parts"][0]["second_task"];
    let (sittings, answers) = (found("sittings"), found("answers"));
    assert_eq!(Some(whole_number(&sittings[0], "blocks_counted")), told["numbers"].as_i64(), "{told}");
    assert_eq!(Some(whole_number(&sittings[0], "blocks_counted_right")), told["numbers_right"].as_i64());
    let beside = answers.iter().filter(|row| !matches!(row["counting"], Field::Null));
    let [with, without]: [Vec<&Row>; 2] = {
        let (with, without) = beside.partition(|row| is(row, "counting"));
        [with, without]
    };
    assert!(with.len() >= 6 && without.len() >= 6, "{} and {}", with.len(), without.len());
    for row in with.iter().chain(&without) {
        assert!(!is(row, "counts") && !is(row, "scored"), "{row:?}");
        assert!(!matches!(row["beside_whole"], Field::Null), "{row:?}");
    }
}

#[test]
fn the_questions_are_one_text_for_both_engines() {
    let text = include_str!("../../../assets/sql/questions.sql");
    let code: String = text.lines().filter(|line| !line.starts_with("--")).map(|line| format!("{line}\n")).collect();
    let code = code.to_lowercase();
    for trap in TRAPS {
        assert!(!code.contains(trap), "{trap} is read otherwise by one engine");
    }
    assert!(!text.lines().any(|line| line.starts_with("--") && line.ends_with(';')), "a remark never ends a question");
    let questions: Vec<&str> = text.split("\n-- question: ").skip(1).collect();
    let names: Vec<&str> = questions.iter().filter_map(|it| it.lines().next()).collect();
    let known = [
        "keys",
        "reflex",
        "pattern_keys",
        "kept",
        "pitches",
        "pitches_counted",
        "stopped",
        "no_rest",
        "left_behind",
        "second_task",
        "hard_patterns",
        "horn_or_player",
        "lesson_help",
    ];
    assert_eq!(names, known);
    for question in questions {
        let name = question.lines().next().unwrap();
        assert_eq!(question.matches(";\n").count(), 1, "{name} is one statement");
        assert!(
            question.contains("\norder by ") || question.contains(" order by "),
            "{name}: the order of rows is said"
        );
        // What has no row a player speaks of all of them, and then of five at least.
        let last = &question[question.rfind("\nselect ").map_or(0, |at| at)..];
        let mut shown = last.split([' ', '\n', ',']).take_while(|word| *word != "from");
        let of_all = !shown.any(|word| word == "player" || word.ends_with(".player"));
        assert_eq!(of_all, ["hard_patterns", "horn_or_player", "lesson_help"].contains(&name), "{name}");
        assert!(
            !of_all
                || question.contains("having count(*) >= 5")
                || question.contains("having count(distinct player) >= 5"),
            "{name}"
        );
    }
}

#[test]
fn both_engines_say_what_the_review_says() {
    if std::env::var_os("EARFIRST_LONGER").is_none() {
        return eprintln!("skipped: EARFIRST_LONGER=1 asks DuckDB and Spark, where python3 has them");
    }
    let desk = Desk::new("tables-engines");
    students(&desk);
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let done = std::process::Command::new("python3")
        .arg(root.join("tests/program/records/school/compare.py"))
        .args([env!("CARGO_BIN_EXE_earfirst").as_ref(), root.join("assets/sql").as_path(), desk.0.as_path()])
        .output();
    let Ok(done) = done else { return eprintln!("skipped: no python3") };
    let [said, wrong] = [done.stdout, done.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned());
    eprintln!("{said}");
    assert!(done.status.success(), "{said}\n{wrong}");
}
