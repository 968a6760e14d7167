//! Commands that read line by line: each line is answered before the next one is written.

use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use earfirst::outside::exchange::answer_to_case as answer;
use serde_json::Value;

use crate::grading::planted::{LEVEL_1, blind, cases};

/// The longest time that a test waits for an answer.
const PATIENCE: Duration = Duration::from_secs(60);

/// The answers of a command to these lines; each is awaited before the next line is written.
fn talk(command: &[&str], lines: &[String]) -> Vec<String> {
    let mut child = Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .args(command)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let (mut to, from) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
    let (said, heard) = mpsc::channel();
    let reader = std::thread::spawn(move || from.lines().try_for_each(|line| said.send(line.unwrap())));
    let one = |line: &String| {
        writeln!(to, "{line}").unwrap();
        heard.recv_timeout(PATIENCE).expect("an answer before the next line")
    };
    let answers = lines.iter().map(one).collect();
    drop(to);
    assert!(child.wait().unwrap().success());
    reader.join().unwrap().unwrap();
    assert_eq!(heard.try_recv().ok(), None, "one line each");
    answers
}

#[test]
fn grade_answers_each_case_before_it_is_given_the_next() {
    let asked: Vec<String> = cases(LEVEL_1).iter().step_by(9).map(|case| blind(case).to_string()).collect();
    let expected: Vec<String> = asked.iter().map(|line| answer(line).unwrap()).collect();
    assert_eq!(talk(&["grade", "--json-lines"], &asked), expected);
}

#[test]
fn the_coach_answers_each_question_before_it_is_asked_the_next_and_its_seed_is_fixed() {
    let asked = vec![r#"{"ask":"next","day":0,"second":0}"#.to_owned(); 12];
    let session = |more: &[&str]| talk(&[&["coach", "--json-lines"], more].concat(), &asked);
    let first = session(&[]);
    for line in &first {
        let next: Value = serde_json::from_str(line).unwrap();
        let key = next["key"].as_str().unwrap();
        assert!(next["bpm"].is_number() && next["why"] == format!("{key} for the first time."), "{line}");
    }
    assert_eq!(session(&[]), first);
    assert_ne!(session(&["--seed", "2"]), first);
}
