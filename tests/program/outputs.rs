//! Standard output and standard error that lead to a full disk, a closed pipe or a terminal that hangs up. The program goes on, and keeps
//! the sitting.

use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use portable_pty::{CommandBuilder, PtySize, native_pty_system};

use crate::records::kept::Fresh;

const PATIENCE: Duration = Duration::from_secs(90);
const DEMO: [&str; 7] = ["demo", "--fast", "--plain", "--seed", "7", "--answers", "2"];

/// An output that takes nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Bad {
    /// A full disk (`/dev/full` of Linux: every write fails with ENOSPC, full(4)).
    Full,
    /// A pipe whose reader is gone.
    Closed,
}

fn earfirst(data: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_earfirst"));
    command.args(arguments).env("EARFIRST_DATA", data).stdin(Stdio::null());
    command
}

fn to(bad: Option<Bad>) -> Stdio {
    match bad {
        None => Stdio::null(),
        Some(Bad::Full) => File::options().write(true).open("/dev/full").unwrap().into(),
        Some(Bad::Closed) => std::io::pipe().unwrap().1.into(),
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let there = std::fs::read_dir(folder).map(|all| all.map(|entry| entry.unwrap().path()).collect());
    let mut there: Vec<PathBuf> = there.unwrap_or_default();
    there.retain(|path| path.extension().is_some_and(|end| end == "zip"));
    there
}

/// Waits for a program to end, and hands back its exit code; `None` where a signal ended it.
fn ended(child: &mut Child) -> Option<i32> {
    let until = Instant::now() + PATIENCE;
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return status.code();
        }
        if Instant::now() > until {
            child.kill().unwrap();
            panic!("it did not end");
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn no_command_breaks_off_where_its_words_find_no_room_or_no_reader() {
    let fresh = Fresh::new("outputs");
    let sessions = fresh.0.join("sessions").display().to_string();
    let commands: [&[&str]; 11] = [
        &DEMO,
        &["review", &sessions],
        &["review", &sessions, "--json"],
        &["review", "/nowhere"],
        &["--help"],
        &["completions", "bash"],
        &["patterns", "list"],
        &["patterns", "show", "major-triad-up", "--instrument", "trumpet"],
        &["coach", "--instrument", "trumpet"],
        &["notes", "/nowhere.wav"],
        &["no-such-command"],
    ];
    let both = [None, Some(Bad::Full), Some(Bad::Closed)];
    let mut sittings = 0;
    for out in both {
        for err in both {
            for arguments in commands {
                let mut child = earfirst(&fresh.0, arguments).stdout(to(out)).stderr(to(err)).spawn().unwrap();
                let code = ended(&mut child);
                assert!(matches!(code, Some(0..=4)), "{arguments:?} with {out:?} and {err:?}: {code:?}");
            }
            sittings += 1;
            assert_eq!(files(&fresh.0.join("sessions")).len(), sittings, "with {out:?} and {err:?}");
        }
    }
}

#[test]
fn a_drill_told_in_lines_ends_and_is_kept_when_nobody_reads_any_more() {
    let fresh = Fresh::new("unread");
    let arguments = ["demo", "--fast", "--plain", "--seed", "7", "--minutes", "600"];
    let mut child = earfirst(&fresh.0, &arguments).stdout(Stdio::piped()).spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    assert!(lines.any(|line| line.unwrap().starts_with("next")), "an answer was judged");
    drop(lines);
    assert_eq!(ended(&mut child), Some(0));
    assert_eq!(files(&fresh.0.join("sessions")).len(), 1);
}

#[test]
fn a_terminal_that_is_closed_ends_the_drill_and_the_sitting_is_kept() {
    let fresh = Fresh::new("closed");
    let pair = native_pty_system().openpty(PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_earfirst"));
    command.args(["demo", "--seed", "5", "--tempo", "200"]);
    command.env("EARFIRST_DATA", &fresh.0);
    command.env("TERM", "xterm-256color");
    let mut child = pair.slave.spawn_command(command).unwrap();
    drop(pair.slave);
    let mut reader = pair.master.try_clone_reader().unwrap();
    let (mut seen, mut some) = (Vec::new(), [0; 256]);
    while !String::from_utf8_lossy(&seen).contains("quarter") {
        let count = reader.read(&mut some).unwrap();
        assert!(count > 0, "the program ended too early");
        seen.extend_from_slice(&some[..count]);
    }
    drop((reader, pair.master));
    let until = Instant::now() + PATIENCE;
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        assert!(Instant::now() < until, "the program did not end");
        std::thread::sleep(Duration::from_millis(20));
    };
    assert!(status.exit_code() <= 4 && status.signal().is_none(), "{status:?}");
    let sessions = fresh.0.join("sessions");
    let left = std::fs::read_dir(&sessions).unwrap().filter(|entry| entry.as_ref().unwrap().path().is_dir()).count();
    assert_eq!((files(&sessions).len(), left), (1, 0));
}

#[test]
fn a_file_name_with_escapes_in_it_does_not_reach_the_terminal() {
    let fresh = Fresh::new("escapes");
    assert_eq!(ended(&mut earfirst(&fresh.0, &DEMO).stdout(Stdio::null()).spawn().unwrap()), Some(0));
    let sessions = fresh.0.join("sessions");
    let whole = std::fs::read(&files(&sessions)[0]).unwrap();
    // A copy, a damaged one, and one that is none, each with a name that would clear the screen (ECMA-48, ED).
    std::fs::write(sessions.join("copy\u{1b}[2J.zip"), &whole).unwrap();
    std::fs::write(sessions.join("none\u{1b}[2J.zip"), b"no zip at all").unwrap();
    let record = earfirst::outside::files::read_sessions(&files(&sessions)).sessions.remove(0);
    let lines: String = record.events.iter().take(3).map(earfirst::outside::session::write_line).collect();
    std::fs::write(sessions.join("cut\u{1b}[2J.jsonl"), format!("{lines}{{\"event\":")).unwrap();
    let told = earfirst(&fresh.0, &["review", &sessions.display().to_string(), "--again"]).output().unwrap();
    let said = [told.stdout, told.stderr].concat();
    assert!(!said.contains(&0x1b), "{}", String::from_utf8_lossy(&said));
    assert!(String::from_utf8_lossy(&said).contains("there twice"), "{}", String::from_utf8_lossy(&said));
}

#[test]
fn a_live_folder_that_is_removed_is_told_before_anything_else_happens() {
    let fresh = Fresh::new("removed-live");
    let arguments = ["demo", "major-triad-up", "--plain", "--seed", "7", "--tempo", "40"];
    let mut child = earfirst(&fresh.0, &arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
    assert!(lines.any(|line| line.starts_with("listen")), "a cue sounds");
    let live = earfirst::outside::files::unfinished(&fresh.0.join("sessions")).unwrap();
    assert!(live.is_empty(), "it is in use");
    for entry in std::fs::read_dir(fresh.0.join("sessions")).unwrap() {
        std::fs::remove_dir_all(entry.unwrap().path()).unwrap();
    }
    // Cue and count take seconds: the folder is looked at twice in one.
    assert!(lines.any(|line| line == "your turn"), "it goes on");
    child.kill().unwrap();
    child.wait().unwrap();
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert!(said.contains("the record cannot be written: its folder was removed or moved"), "{said}");
    assert!(!said.contains("the record is written"), "{said}");
}
