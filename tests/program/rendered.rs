//! The program grades answers made from recorded notes of a trumpet and an alto saxophone: three patterns, all twelve keys, with and
//! without planted faults.
//!
//! `tests/data/rendered/LICENCE.txt` says where the sound is from and how the answers were made. The script that planted the faults also
//! wrote the truth, from intervals above the tonic and without this program.

use std::collections::BTreeMap;
use std::process::Command;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use serde_json::Value;

/// The tempo that was asked, in quarters a minute.
const TEMPO: f64 = 112.0;
/// An answer whose pace differs from the tempo asked by more than this share was hurried or dragged. Where that was planted, the pace
/// differs by 24 % or more.
const OTHER_PACE: f64 = 0.13;
/// A note further off than this, in cents, is out of tune. Notes that were planted so are 32 to 40 cents off; all others vary with a
/// standard deviation of 3 cents.
const OUT_OF_TUNE: f64 = 25.0;
/// Beyond this many cents a note of a professional is a fault (`acceptable` in `assets/instruments.toml`).
const FAULT: f64 = 20.0;

/// What was truly played in one recording.
struct Take {
    file: String,
    instrument: String,
    pattern: String,
    key: String,
    register: String,
    kinds: String,
    /// A word for each expected note, such as `right`, `missed`, `wrong+2` and `octave-12`.
    notes: Vec<String>,
    extra: i64,
    shift: i64,
    attempts: i64,
    related: bool,
    pace: f64,
    /// The expected note that was planted out of tune; `None` where none was.
    out_of_tune: Option<usize>,
}

/// The answers without a fault and with planted ones.
const DRAWN: &str = include_str!("../data/rendered/truth.tsv");
/// Answers drawn later that an earlier ear misheard or an earlier judge misjudged.
const MISHEARD: &str = include_str!("../data/rendered/misheard.tsv");

fn takes(table: &str) -> Vec<Take> {
    let rows = table.lines().filter(|line| !line.starts_with('#')).map(|line| line.split('\t').collect::<Vec<_>>());
    rows.map(|row| Take {
        file: format!("tests/data/rendered/{}", row[0]),
        instrument: row[1].to_owned(),
        pattern: row[2].to_owned(),
        key: row[3].to_owned(),
        register: row[4].to_owned(),
        kinds: row[5].to_owned(),
        notes: row[6].split(' ').map(str::to_owned).collect(),
        extra: row[7].parse().unwrap(),
        shift: row[8].parse().unwrap(),
        attempts: row[9].parse().unwrap(),
        related: row[10] == "true",
        pace: row[11].parse().unwrap(),
        out_of_tune: row[12].split(' ').next().unwrap().parse().ok(),
    })
    .collect()
}

/// What `earfirst grade --json` says of a recording, and its exit code.
fn grade(take: &Take) -> (Value, Option<i32>) {
    let out = Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .env("EARFIRST_DATA", std::env::temp_dir().join("earfirst-rendered-has-no-settings"))
        .args(["grade", &take.file, "--pattern", &take.pattern, "--key", &take.key, "--instrument", &take.instrument])
        // The registers of the drawing are thirds of a professional's compass.
        .args(["--compass", "professional", "--register", &take.register, "--tempo", &TEMPO.to_string(), "--json"])
        .output()
        .unwrap();
    let told = serde_json::from_slice(&out.stdout);
    (told.unwrap_or_else(|why| panic!("{}: {why}: {out:?}", take.file)), out.status.code())
}

/// Every recording with what the program says of it; two are graded at a time, for a machine with two cores.
fn graded(table: &str, wanted: impl Fn(&Take) -> bool) -> Vec<(Take, Value, Option<i32>)> {
    let takes: Vec<Take> = takes(table).into_iter().filter(|take| wanted(take)).collect();
    let (next, told) = (AtomicUsize::new(0), Mutex::new(BTreeMap::new()));
    thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some((n, take)) =
                    Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|n| Some((n, takes.get(n)?)))
                {
                    let said = grade(take);
                    told.lock().unwrap().insert(n, said);
                }
            });
        }
    });
    takes
        .into_iter()
        .zip(told.into_inner().unwrap().into_values())
        .map(|(take, (said, code))| (take, said, code))
        .collect()
}

/// The word, as in the truth, for what the program says of one expected note.
fn word(note: &Value) -> String {
    let label = note["label"].as_str().unwrap();
    match note["half_steps_off"].as_i64().unwrap() {
        0 => label.to_owned(),
        by => format!("{label}{by:+}"),
    }
}

fn notes(said: &Value) -> Vec<String> {
    said["expected"].as_array().unwrap().iter().map(word).collect()
}

#[test]
fn a_clean_answer_in_any_key_is_all_right() {
    let graded = graded(DRAWN, |take| take.kinds == "clean");
    assert_eq!(graded.len(), 72);
    for (take, said, code) in graded {
        assert_eq!(notes(&said), take.notes, "{}: {}", take.file, said["sentence"]);
        assert_eq!((said["extra"].as_i64(), said["shift_half_steps"].as_i64()), (Some(0), Some(0)), "{}", take.file);
        assert_eq!(code, Some(0), "{}", take.file);
    }
}

#[test]
fn every_planted_fault_is_named_at_its_place() {
    let graded = graded(DRAWN, |take| take.kinds != "clean");
    assert_eq!(graded.len(), 72);
    let mut kinds = Kinds::default();
    for (take, said, code) in &graded {
        kinds.count(take, said);
        assert_as_planted(take, said);
        let in_place = |kind: &str| ["out of tune", "hurried", "dragged", "whole octave"].contains(&kind);
        let in_place = take.kinds.split('+').all(in_place);
        let notes = said["expected"].as_array().unwrap();
        let in_tune = !notes.iter().any(|note| note["cents"].as_f64().is_some_and(|cents| cents.abs() > FAULT));
        let short = "only notes that are wrong or out of tune fall short";
        assert_eq!(*code == Some(0), in_place && in_tune, "{} ({}): {short}", take.file, take.kinds);
    }
    kinds.tell();
}

/// Checks that relatedness, notes too many, shift, attempts and every note were judged as they were planted.
fn assert_as_planted(take: &Take, said: &Value) {
    let related = said["related"].as_bool().unwrap();
    assert_eq!(related, take.related, "{} ({}): {}", take.file, take.kinds, said["sentence"]);
    if related {
        let planted = (take.extra, take.shift, take.attempts);
        let number = |name: &str| said[name].as_i64().unwrap();
        let told = (number("extra"), number("shift_half_steps"), number("attempts"));
        assert_eq!((told, notes(said)), (planted, take.notes.clone()), "{} ({})", take.file, take.kinds);
    }
}

/// Answers that the program once misheard. Of tongued half steps on a reed, which begin flat, it heard two as one; it heard the echo of a
/// last note as another note; and where a note too many took its own time, it gave the others too slow a pace.
#[test]
fn what_was_misheard_once_is_heard_as_it_was_played() {
    let graded = graded(MISHEARD, |_| true);
    assert_eq!(graded.len(), 6);
    for (take, said, _) in graded {
        assert_as_planted(&take, &said);
        let pace = said["pace_quarter_per_minute"].as_f64().unwrap();
        assert!((pace / take.pace - 1.0).abs() < 0.03, "{}: {pace} for {}", take.file, take.pace);
        let off = |note: &Value| note["cents"].as_f64().is_some_and(|cents| cents.abs() > OUT_OF_TUNE);
        let told = said["expected"].as_array().unwrap().iter().position(off);
        assert_eq!(told, take.out_of_tune, "{}: {}", take.file, said["sentence"]);
    }
}

/// How often each kind of fault was planted, how often it was said, and how often both.
#[derive(Default)]
struct Kinds(BTreeMap<&'static str, [u32; 3]>);

impl Kinds {
    fn add(&mut self, kind: &'static str, planted: bool, said: bool) {
        let row = self.0.entry(kind).or_default();
        for (count, is) in row.iter_mut().zip([planted, said, planted && said]) {
            *count += u32::from(is);
        }
    }

    fn count(&mut self, take: &Take, said: &Value) {
        let related = said["related"].as_bool().unwrap();
        self.add("something else", !take.related, !related);
        if !take.related || !related {
            return;
        }
        let shift = said["shift_half_steps"].as_i64().unwrap();
        let octave = |by: i64| by != 0 && by % 12 == 0;
        self.add("whole octave", octave(take.shift), octave(shift));
        self.add("other key", take.shift % 12 != 0, shift % 12 != 0);
        self.add("second attempt", take.attempts > 1, said["attempts"].as_i64().unwrap() > 1);
        self.add("extra note", take.extra > 0, said["extra"].as_i64().unwrap() > 0);
        let pace = said["pace_quarter_per_minute"].as_f64().unwrap_or(TEMPO);
        let far = |pace: f64| pace / TEMPO - 1.0;
        self.add("hurried", far(take.pace) > OTHER_PACE, far(pace) > OTHER_PACE);
        self.add("dragged", far(take.pace) < -OTHER_PACE, far(pace) < -OTHER_PACE);
        for (place, (planted, note)) in take.notes.iter().zip(said["expected"].as_array().unwrap()).enumerate() {
            let told = word(note);
            for kind in ["wrong", "octave", "missed"] {
                self.add(kind, planted.starts_with(kind), told.starts_with(kind));
            }
            let off = note["cents"].as_f64().is_some_and(|cents| cents.abs() > OUT_OF_TUNE);
            self.add("out of tune", take.out_of_tune == Some(place) && planted == "right", off);
        }
    }

    fn tell(&self) {
        for (kind, [planted, said, both]) in &self.0 {
            println!("{kind}: planted {planted}, said {said}, both {both}");
            let share = |of: u32| f64::from(*both) / f64::from(of.max(1));
            assert!(*planted >= 5, "too few of {kind} to tell");
            assert!(
                share(*said) >= 0.92 && share(*planted) >= 0.92,
                "{kind}: {planted} planted, {said} said, {both} both"
            );
        }
    }
}
