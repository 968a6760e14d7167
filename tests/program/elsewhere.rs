//! A sitting that cannot be kept in its own place is kept in another, whatever key is pressed. On a full disk the record is kept rather
//! than the sound.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use earfirst::outside::files::read_sessions;
use earfirst::outside::session::{Event, Session};

use crate::records::kept::Fresh;
use crate::stage::Stage;

const DEMO: [&str; 7] = ["demo", "--fast", "--plain", "--seed", "7", "--answers", "3"];

/// A home folder with room, and a data folder that has a file where the folder of sittings should be.
fn refusing(name: &str) -> (Fresh, PathBuf, PathBuf) {
    let fresh = Fresh::new(name);
    let (home, data) = (fresh.0.join("home"), fresh.0.join("data"));
    for folder in [&home, &data] {
        std::fs::create_dir_all(folder).unwrap();
    }
    std::fs::write(data.join("sessions"), b"").unwrap();
    (fresh, home, data)
}

fn kept(folder: &Path) -> Vec<Session> {
    let there = std::fs::read_dir(folder).map(|all| all.map(|entry| entry.unwrap().path()).collect());
    let mut paths: Vec<PathBuf> = there.unwrap_or_default();
    paths.retain(|path| path.extension().is_some_and(|end| end == "zip"));
    read_sessions(&paths).sessions.iter().filter_map(|stored| stored.session()).collect()
}

fn judged(session: &Session) -> usize {
    session.trials.iter().filter(|turn| turn.judgement.is_some()).count()
}

fn said(told: &Output) -> String {
    [&told.stdout, &told.stderr].map(|bytes| String::from_utf8_lossy(bytes).into_owned()).concat()
}

#[test]
fn without_a_terminal_a_refused_sitting_goes_home_and_that_is_told() {
    let (_fresh, home, data) = refusing("refused");
    let mut command = Command::new(env!("CARGO_BIN_EXE_earfirst"));
    let told = command.args(DEMO).env("EARFIRST_DATA", data).env("HOME", &home).stdin(Stdio::null()).output().unwrap();
    let said = said(&told);
    assert_eq!(told.status.code(), Some(0), "{said}");
    assert!(said.contains(&format!("kept in {}", home.display())) && said.contains("cannot"), "{said}");
    assert!(said.contains("a file stands where a folder should be") && !said.contains("os error"), "{said}");
    assert_eq!(kept(&home).iter().map(judged).collect::<Vec<_>>(), [3]);
}

#[test]
fn on_a_terminal_no_key_pressed_by_mistake_loses_a_sitting() {
    // Enter, control-d, a name that is none and then Enter, a folder below home.
    for (typed, below) in [("\r", ""), ("\u{4}", ""), ("x\r\r", ""), ("y\r~/keep\r", "keep")] {
        let (_fresh, home, data) = refusing("asked");
        let environment = [("HOME", home.to_str().unwrap()), ("EARFIRST_DATA", data.to_str().unwrap())];
        let mut stage = Stage::begin("asked", &DEMO, 120, 48, &environment);
        stage.await_text("Another folder to keep this sitting in");
        stage.press(typed);
        stage.await_text("review it with");
        assert_eq!(stage.end(), 0, "{typed:?}");
        assert_eq!(kept(&home.join(below)).iter().map(judged).collect::<Vec<_>>(), [3], "{typed:?}");
        assert!(!Path::new("~").exists() && !Path::new("x").exists(), "no folder of that name was made");
    }
}

#[test]
fn a_sitting_is_given_up_only_in_so_many_words() {
    let (_fresh, home, data) = refusing("given-up");
    let environment = [("HOME", home.to_str().unwrap()), ("EARFIRST_DATA", data.to_str().unwrap())];
    let mut stage = Stage::begin("given-up", &DEMO, 120, 48, &environment);
    stage.await_text("Another folder to keep this sitting in");
    stage.press("give up\r");
    stage.await_text("this sitting was given up");
    assert_eq!(stage.end(), 4);
    assert_eq!(kept(&home).len(), 0);
}

/// A small disk for one test, where the system can make one; it is removed when this is dropped.
struct Small(PathBuf);

impl Small {
    fn of(folder: &Path, bytes: usize) -> Option<Self> {
        std::fs::create_dir_all(folder).unwrap();
        let size = format!("size={bytes}");
        let made = Command::new("mount").args(["-t", "tmpfs", "-o", &size, "none"]).arg(folder).output();
        made.is_ok_and(|made| made.status.success()).then(|| Self(folder.to_owned()))
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

#[test]
fn on_a_disk_of_one_megabyte_every_answer_is_in_the_record_though_its_sound_is_not() {
    let fresh = Fresh::new("small");
    let (home, disk) = (fresh.0.join("home"), fresh.0.join("disk"));
    std::fs::create_dir_all(&home).unwrap();
    let Some(small) = Small::of(&disk, 1 << 20) else {
        return println!("skipped: no disk can be made here");
    };
    let run = |home: &Path| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_earfirst"));
        let arguments = ["demo", "--fast", "--plain", "--seed", "7", "--answers", "12", "--keep-sound", "all"];
        command.args(arguments).env("EARFIRST_DATA", &small.0).env("HOME", home).env("TMPDIR", home);
        command.current_dir(home).stdin(Stdio::null()).output().unwrap()
    };
    // Nowhere else is room: the record stays where it is, whole.
    let told = run(&small.0);
    let said_so = said(&told);
    assert_eq!(told.status.code(), Some(4), "{said_so}");
    assert!(said_so.contains("the record is written, the sound of your answers not: the disk is full"), "{said_so}");
    assert!(said_so.contains("the next start makes a file of it"), "{said_so}");
    let left = read_sessions(&earfirst::outside::files::unfinished(&disk.join("sessions")).unwrap());
    let count = |events: &[Event]| events.iter().filter(|event| matches!(event, Event::Judged(_))).count();
    assert_eq!(left.sessions.iter().map(|stored| count(&stored.events)).collect::<Vec<_>>(), [12]);
    assert!(left.sessions[0].damage.is_none());
    // With a home the next sitting goes there with all its sound.
    std::fs::remove_dir_all(disk.join("sessions")).unwrap();
    let told = run(&home);
    assert_eq!(told.status.code(), Some(0), "{}", said(&told));
    assert_eq!(kept(&home).iter().map(judged).collect::<Vec<_>>(), [12]);
    let sound: u64 = kept(&home)[0].trials.iter().filter_map(|turn| Some(turn.answer.as_ref()?.sound?.1)).sum();
    assert!(sound > 48_000 * 12, "{sound} samples");
}
