//! The coach begins from what the index has. It must then ask exactly what it asks after reading every file again, whatever has
//! happened to the index or the files.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

use arbtest::arbtest;
use earfirst::outside::coach::{Goals, LearnerModel, Plan, Rng};
use earfirst::outside::files::{Places, SCHEMA, learnt, read_sessions};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::PatternId;
use earfirst::outside::session::{Began, Event, replay};
use earfirst::outside::units::{Seconds, Tempo};

use crate::desk::Desk;
use crate::records::logged::evening;
use crate::records::made;
use crate::records::months::{Course, Student, header};
use crate::records::who::{player, record};

const PATTERN: &str = "five-note-row-up-and-down";
const TODAY: i32 = 20_900;

fn mine(began: &Began) -> bool {
    began.instrument == "trumpet" && !began.simulated && began.day % 2 == 0
}

/// What the coach knows from the index.
fn known(desk: &Desk) -> LearnerModel {
    learnt(&Places::at(&desk.0.join("data")), TODAY, &mine).learner
}

/// What the coach knows from the files alone, by code that does not use the index.
fn from_files(desk: &Desk) -> LearnerModel {
    let mut found = read_sessions(&[desk.0.join("data/sessions")]);
    found.once();
    let all = found.sessions.into_iter().map(|stored| stored.events);
    let events: Vec<Event> = all.filter(|it| mine(header(it)) && header(it).day <= TODAY + 1).flatten().collect();
    replay(&events)
}

/// Checks that both are equal to the last bit, and that the same is asked next.
fn same(desk: &Desk, what: &str) -> LearnerModel {
    let (indexed, replayed) = (known(desk), from_files(desk));
    assert!(indexed == replayed, "{what}: the index changes what the coach believes");
    let goals = Goals { tempo: Tempo(144.0), reflex: Seconds(0.8) };
    let plan = Plan::new(vec![PatternId(PATTERN.to_owned())], ConcertKey::FIFTHS.to_vec(), goals, TODAY);
    for seed in 0..20 {
        let asks = |learner: &LearnerModel| learner.clone().choose(&plan, &mut Rng::new(seed));
        assert_eq!(asks(&indexed), asks(&replayed), "{what}");
    }
    indexed
}

fn folder(desk: &Desk) -> PathBuf {
    desk.0.join("data/sessions")
}

fn index(desk: &Desk) -> PathBuf {
    desk.0.join("data/index.sqlite")
}

fn sql(desk: &Desk, text: &str) {
    rusqlite::Connection::open(index(desk)).unwrap().execute_batch(text).unwrap();
}

/// How many sittings the index has learnt from.
fn remembered(desk: &Desk) -> i64 {
    let db = rusqlite::Connection::open(index(desk)).unwrap();
    db.query_row("select coalesce(max(length(sittings)), 0) / 32 from learners", [], |row| row.get(0)).unwrap()
}

/// Writes a record and sets its time of modification back by an hour.
fn settled(desk: &Desk, at: usize, events: &[Event]) {
    let name = format!("{at:04}.jsonl");
    record(&folder(desk), &name, events);
    set_back(&folder(desk).join(name));
}

fn set_back(path: &Path) {
    let before = SystemTime::now() - Duration::from_secs(3600);
    File::options().write(true).open(path).unwrap().set_modified(before).unwrap();
}

/// A desk with `sittings` sittings of the simulated player.
fn practised(name: &str, course: Course, seed: u64, sittings: usize, cues: u32) -> (Desk, Student) {
    let (desk, mut student) = (Desk::new(name), Student::new(course, seed, None));
    for at in 0..sittings {
        let day = TODAY - 120 + i32::try_from(at * at % 7 + at).unwrap();
        settled(&desk, at, &student.sitting(PATTERN, day + day % 2, at as u32, cues));
    }
    (desk, student)
}

#[test]
fn what_the_coach_asks_is_the_same_from_the_index_and_from_the_files() {
    for (course, seed) in [(Course::Improves, 3), (Course::StandsStill, 4)] {
        let (desk, mut student) = practised("remembered-same", course, seed, 40, 24);
        let learnt = same(&desk, "made");
        assert_ne!(learnt, LearnerModel::new());
        assert!(learnt == *student.beliefs(), "and it is what the coach held while it asked");
        assert_eq!(remembered(&desk), 40);
        for at in 40..60 {
            settled(&desk, at, &student.sitting(PATTERN, TODAY - 70 + at as i32 / 2 * 2, at as u32, 12));
            if at % 5 == 0 {
                assert!(same(&desk, "one more") == *student.beliefs());
            }
        }
        same(&desk, "all");
        assert_eq!(remembered(&desk), 56, "kept after sixteen more");
    }
}

#[test]
fn what_is_remembered_is_not_read_again() {
    let (desk, student) = practised("remembered-unread", Course::Improves, 5, 20, 12);
    same(&desk, "made");
    for path in fs::read_dir(folder(&desk)).unwrap().map(|entry| entry.unwrap().path()) {
        // What stands in it now would be refused; only who opens it finds out.
        fs::write(&path, vec![b'x'; fs::read(&path).unwrap().len()]).unwrap();
    }
    let stamps = rusqlite::Connection::open(index(&desk)).unwrap();
    let mut times = stamps.prepare("select path, changed_ns from sittings").unwrap();
    let times: Vec<(Vec<u8>, i64)> =
        times.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap().map(Result::unwrap).collect();
    for (path, time) in times {
        let file = File::options().write(true).open(String::from_utf8(path).unwrap()).unwrap();
        file.set_modified(SystemTime::UNIX_EPOCH + Duration::from_nanos(time.cast_unsigned())).unwrap();
    }
    assert!(known(&desk) == *student.beliefs());
    fs::remove_file(index(&desk)).unwrap();
    assert!(known(&desk) == LearnerModel::new(), "without the index there is nothing left to learn from");
}

#[test]
fn files_that_change_come_and_go_are_followed() {
    let (desk, mut student) = practised("remembered-changes", Course::Improves, 6, 36, 12);
    same(&desk, "made");
    let at = |at: usize| folder(&desk).join(format!("{at:04}.jsonl"));
    fs::remove_file(at(7)).unwrap();
    same(&desk, "one is gone");
    assert_eq!(remembered(&desk), 35, "learnt anew");
    let cut = fs::read(at(9)).unwrap();
    fs::write(at(9), &cut[..cut.len() / 2]).unwrap();
    same(&desk, "one is cut off");
    fs::copy(at(11), folder(&desk).join("0011-copy.jsonl")).unwrap();
    same(&desk, "one lies there twice");
    fs::rename(at(12), folder(&desk).join("9999.jsonl")).unwrap();
    same(&desk, "one has another name, so it comes last");
    fs::write(at(13), b"no session").unwrap();
    same(&desk, "one cannot be read");
    settled(&desk, 70, &student.sitting(PATTERN, TODAY + 30, 70, 9));
    same(&desk, "one is dated after today");
    settled(&desk, 71, &evening(player(0xa1, "Anna"), TODAY - 4, 71, 9));
    same(&desk, "somebody else's pattern");
    desk.done("forget 0003 --yes");
    assert_eq!(remembered(&desk), 0, "nothing that was learnt from it stays");
    same(&desk, "one was forgotten");
}

#[test]
fn a_spoilt_index_never_changes_what_the_coach_asks() {
    let (desk, student) = practised("remembered-spoilt", Course::Improves, 7, 17, 12);
    same(&desk, "made");
    let good = fs::read(index(&desk)).unwrap();
    for text in [
        "update learners set state = zeroblob(length(state))",
        "update learners set state = x'00'",
        "update learners set state = cast(replace(cast(state as text), 'up', 'UP') as blob)",
        "update learners set sittings = substr(sittings, 1, 320)",
        "update learners set seal = zeroblob(32)",
        "insert into learners select substr(sittings, 1, 64), state, seal from learners",
        "update sittings set began = replace(began, '\"trumpet\"', '\"flute\"') where sitting = 3",
        "update sittings set began = replace(began, '\"simulated\":false', '\"simulated\":true')",
        "update sittings set sha256 = zeroblob(32) where sitting = 5",
        "update sittings set seal = zeroblob(32) where sitting = 5",
        "update sittings set path = cast('nowhere' as blob) where sitting = 5",
        "delete from sittings where sitting < 9",
        "delete from answers",
        "delete from learners",
        "drop table learners",
        "pragma user_version = 1",
    ] {
        fs::write(index(&desk), &good).unwrap();
        sql(&desk, text);
        assert!(same(&desk, text) == *student.beliefs(), "{text}");
        assert!(same(&desk, text) == *student.beliefs(), "{text}, and once more");
        assert_eq!(remembered(&desk), 17, "{text}: it is in use again");
    }
    let mut chance = Rng::new(9);
    for flip in 0..60 {
        let mut bytes = good.clone();
        for _ in 0..=flip % 4 {
            let at = (chance.uniform() * bytes.len() as f64) as usize;
            bytes[at] ^= 1 << (flip % 8);
        }
        fs::write(index(&desk), bytes).unwrap();
        assert!(known(&desk) == *student.beliefs(), "flip {flip}");
    }
    fs::write(index(&desk), &good[..good.len() / 3]).unwrap();
    same(&desk, "cut off");
    let other = rusqlite::Connection::open(index(&desk)).unwrap();
    other.execute_batch("begin exclusive").unwrap();
    same(&desk, "another program holds it");
}

#[test]
fn what_is_known_comes_back_from_its_bytes_whatever_was_played() {
    arbtest(|u| {
        let mut events = made::any_sitting(u)?;
        events.extend(made::any_sitting(u)?);
        let learner = replay(&events);
        let bytes = learner.to_bytes();
        assert_eq!(LearnerModel::from_bytes(&bytes), Some(learner));
        assert_eq!(LearnerModel::from_bytes(&bytes[..bytes.len() - 1]), None);
        assert_eq!(LearnerModel::from_bytes(&[bytes.as_slice(), &[0]].concat()), None);
        Ok(())
    });
}

/// Where this fails, the coach learns by another rule than before. Then raise `SCHEMA` in `files/index/schema.rs`, so that no coach begins
/// from what was learnt by the older rule, and write the new figure here.
#[test]
fn another_rule_of_learning_is_another_schema() {
    let mut student = Student::new(Course::Improves, 11, None);
    let events: Vec<Event> =
        (0..20).flat_map(|n| student.sitting(PATTERN, TODAY - 60 + n * n / 9, n.unsigned_abs(), 20)).collect();
    // Six digits, for the last ones differ between machines.
    let text = format!("{:?}", replay(&events));
    let mut digest = 0xcbf2_9ce4_8422_2325_u64;
    for word in text.split([' ', ',', '(', ')', '[', ']', '{', '}']) {
        let word = match word.parse::<f64>() {
            Ok(number) if word.contains('.') => format!("{number:.6}"),
            _ => word.to_owned(),
        };
        word.bytes().for_each(|byte| digest = (digest ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
    }
    assert_eq!((digest, SCHEMA), (13_742_873_842_014_459_666, 9));
}

/// Runs the commands. `EARFIRST_LONGER=1` makes two thousand sittings of sixty cues; `--nocapture` shows the times.
#[test]
fn coach_and_list_say_the_same_with_and_without_the_index() {
    let many = if std::env::var_os("EARFIRST_LONGER").is_some() { 2000 } else { 40 };
    let desk = Desk::new("remembered-commands");
    let today = i32::try_from(SystemTime::UNIX_EPOCH.elapsed().unwrap().as_secs() / 86_400).unwrap();
    for at in 0..many {
        let day = today - i32::try_from(many - at).unwrap() / 2 - 3;
        let events = evening(None, day, at, 60);
        let text: String = events.iter().map(earfirst::outside::session::write_line).collect();
        let path = folder(&desk).join(format!("{at:04}.jsonl"));
        fs::create_dir_all(folder(&desk)).unwrap();
        fs::write(&path, text.replace("five-notes-up", PATTERN)).unwrap();
        set_back(&path);
    }
    for line in ["coach --seed 5 five-note-row-up-and-down", "patterns list --today --all"] {
        let said: Vec<String> = ["no index", "index made", "index as it stands"]
            .into_iter()
            .map(|what| {
                if what == "no index" {
                    let _ = fs::remove_file(index(&desk));
                    let _ = fs::remove_dir(index(&desk));
                    fs::create_dir(index(&desk)).unwrap();
                } else {
                    let _ = fs::remove_dir(index(&desk));
                }
                let began = Instant::now();
                let said = desk.done(line);
                println!("{line}, {many} sittings of 60 cues, {what}: {:.2} s", began.elapsed().as_secs_f64());
                said
            })
            .collect();
        assert_eq!(said[0], said[1]);
        assert_eq!(said[0], said[2]);
    }
}
