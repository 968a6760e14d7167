//! The program is killed in the middle of a sitting. Everything that it had told the player is kept, and its next start makes a finished
//! file of the sitting.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use earfirst::outside::files::{read_sessions, unfinished};
use earfirst::outside::session::{Event, Session};

use crate::chance::Chance;
use crate::records::kept::{Fresh, ROUNDS};
use crate::stage::Stage;

/// A command that plays the same sitting each time.
fn demo(data: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_earfirst"));
    command.args(["demo", "four-half-steps-up", "--fast", "--plain", "--tempo", "240", "--seed", "7"]);
    command.env("EARFIRST_DATA", data).stderr(Stdio::inherit());
    command
}

/// Kills the program once it has printed `enough` lines, and hands back all lines that it had printed.
fn killed_after(enough: usize, data: &Path) -> Vec<String> {
    let mut child = demo(data).stdout(Stdio::piped()).spawn().unwrap();
    let mut told = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
    let mut lines: Vec<String> = told.by_ref().take(enough).collect();
    child.kill().unwrap();
    child.wait().unwrap();
    lines.extend(told);
    lines
}

/// Of how many answers the final sentence was printed.
fn sentences_told(lines: &[String], whole: &Session) -> usize {
    let judged = whole.trials.iter().filter_map(|turn| turn.judgement.as_ref());
    let mut lines = lines.iter();
    judged.take_while(|judged| lines.any(|line| line.trim_start_matches("after all: ") == judged.sentence)).count()
}

/// Whether `kept` is the answer `meant`, or the verdict `meant`, as it was recorded before the answer was over: to the same cue, at an
/// earlier moment.
fn draft_of(kept: &Event, meant: &Event) -> bool {
    match (kept, meant) {
        (Event::Answered(kept), Event::Answered(meant)) => {
            kept.cue == meant.cue
                && kept.at.0 < meant.at.0
                && kept.heard.len() == meant.heard.len()
                && kept.sound.is_none()
        }
        (Event::Judged(kept), Event::Judged(meant)) => {
            (kept.cue, kept.verdict.right) == (meant.cue, meant.verdict.right) && kept.at.0 < meant.at.0
        }
        _ => false,
    }
}

fn judged(events: &[Event]) -> usize {
    events.iter().filter(|event| matches!(event, Event::Judged(_))).count()
}

#[test]
fn a_killed_program_has_kept_every_answer_that_it_told_and_the_next_start_finishes_its_file() {
    let rounds = std::env::var(ROUNDS).ok().and_then(|rounds| rounds.parse().ok()).unwrap_or(8);
    let fresh = Fresh::new("program-killed");
    let sessions = fresh.0.join("sessions");
    let (mut chance, mut cut) = (Chance::new(21), Vec::new());
    for _ in 0..rounds {
        let lines = killed_after(chance.whole(16, 60) as usize, &fresh.0);
        // What the round before left was finished by this start.
        let [folder] = &unfinished(&sessions).unwrap()[..] else { panic!("one folder is left") };
        let found = read_sessions(std::slice::from_ref(folder));
        assert_eq!((found.sessions.len(), found.failures.len()), (1, 0));
        cut.push((lines, found.sessions[0].events.clone()));
    }
    assert!(demo(&fresh.0).args(["--answers", "16"]).stdout(Stdio::null()).status().unwrap().success());
    assert!(unfinished(&sessions).unwrap().is_empty());
    let files = read_sessions(&[sessions]);
    assert_eq!((files.sessions.len(), files.failures.len()), (rounds + 1, 0));
    let whole = files.sessions.iter().max_by_key(|stored| stored.events.len()).unwrap();
    let session = whole.session().unwrap();
    for (lines, events) in &cut {
        // All but the header, which names the minute, and what ends a sitting.
        let same =
            events[1..].iter().zip(&whole.events[1..]).all(|(kept, meant)| kept == meant || draft_of(kept, meant));
        assert!(same && events.len() < whole.events.len(), "{events:?}");
        let (told, kept) = (sentences_told(lines, &session), judged(events));
        assert!(told > 0 && kept >= told, "{told} told, {kept} kept:\n{}", lines.join("\n"));
        let found = files.sessions.iter().any(|stored| stored.events == *events);
        assert!(found, "its file holds what its folder held");
    }
}

#[test]
fn a_verdict_that_stands_on_the_screen_is_in_the_record_when_the_program_is_killed_that_moment() {
    let rounds = std::env::var(ROUNDS).ok().and_then(|rounds| rounds.parse().ok()).unwrap_or(3);
    let mut chance = Chance::new(22);
    for _ in 0..rounds {
        let arguments = ["demo", "four-half-steps-up", "--tempo", "240", "--seed", "7"];
        let mut stage = Stage::begin("verdict-killed", &arguments, 80, 24, &[]);
        let answers = chance.whole(1, 3);
        for answer in 1..=answers {
            stage.await_text("asked at quarter");
            if answer < answers {
                stage.await_text("listen");
                stage.await_text("your turn");
            }
        }
        let process = stage.child.process_id().unwrap().to_string();
        assert!(Command::new("kill").args(["-KILL", &process]).status().unwrap().success());
        stage.child.wait().unwrap();
        let found = read_sessions(&unfinished(&stage.data.join("sessions")).unwrap());
        let (events, damage) = (&found.sessions[0].events, &found.sessions[0].damage);
        assert!(judged(events) >= answers as usize && damage.is_none(), "{answers} shown: {events:?}");
        let _ = std::fs::remove_dir_all(&stage.data);
    }
}
