//! The command `log`. Its index gives the same figures as the files; a file that did not change is not opened; an index that the program
//! did not write is not used.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

use earfirst::outside::coach::Reason;
use earfirst::outside::report::review;
use earfirst::outside::session::{Began, Ended, Event, NamedPlayer, PauseCause, Session};
use earfirst::outside::units::Seconds;
use earfirst::outside::verdict::{Reflex, TempoStep};
use serde_json::Value;

use crate::desk::Desk;
use crate::records::made;
use crate::records::who::{player, record};

/// The day on which the tests run, in UTC; the local day may be one more or less.
fn today() -> i32 {
    i32::try_from(SystemTime::UNIX_EPOCH.elapsed().unwrap().as_secs() / 86_400).unwrap()
}

/// A pseudo-random number from 0 up to 1 (Knuth's MMIX generator).
fn chance(state: &mut u64) -> f64 {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*state >> 11) as f64 / (1u64 << 53) as f64
}

/// A person's sitting with `cues` cues and one rest. Some keys come back after days, and some answers are not all right.
pub fn evening(whose: Option<NamedPlayer>, day: i32, at: usize, cues: u32) -> Vec<Event> {
    let mut state = at as u64 * 97 + 751;
    let started = format!("2026-11-25T{:02}:{:02}:{:02}+01:00", at / 3600, at / 60 % 60, at % 60);
    let mut events = vec![Event::Began(Began { player: whose, day, started, simulated: false, ..made::began() })];
    for number in 1..=cues {
        let mut cue = made::cue(number * 7);
        cue.number = number;
        let days = [None, Some(1), Some(8), Some(29), Some(30), Some(77)][(6.0 * chance(&mut state)) as usize];
        let reason = if chance(&mut state) < 0.3 { Reason::Opening { days } } else { Reason::Even };
        events.push(Event::Cued { at: Seconds(f64::from(number) * 6.0), cue, reason });
        events.push(Event::Answered(made::answer(number)));
        let mut judgement = made::judgement(number);
        if chance(&mut state) < 0.4 {
            (judgement.verdict.right, judgement.step) = (2, Some(TempoStep::Stay));
        }
        let time = Seconds(0.3 + 2.0 * chance(&mut state));
        judgement.verdict.reflex = Some(Reflex { time, jumped: false, counted: chance(&mut state) < 0.9 });
        events.push(Event::Judged(judgement));
    }
    let last = Seconds(f64::from(cues) * 6.0 + 5.0);
    events.push(Event::Paused { at: last, cause: PauseCause::Rest });
    events.push(Event::Resumed { at: last + Seconds(41.5) });
    let sounding = Seconds(60.0 * chance(&mut state));
    events.push(Event::Ended(Ended { at: last + Seconds(60.0), sounding, dropped: 0 }));
    events
}

/// A desk with one sitting on each of these days.
fn kept(name: &str, days: &[i32]) -> (Desk, PathBuf) {
    let desk = Desk::new(name);
    let folder = desk.0.join("data/sessions");
    for (at, day) in days.iter().enumerate() {
        record(&folder, &format!("{at:04}.jsonl"), &evening(None, *day, at, 20));
    }
    (desk, folder)
}

fn log(desk: &Desk) -> Value {
    let said = desk.done("log --json");
    serde_json::from_str(&said).unwrap_or_else(|why| panic!("{why}\n{said}"))
}

/// The field `parts` of the log alone, because other fields may say that an index was thrown away.
fn parts(desk: &Desk) -> Value {
    log(desk)["parts"].take()
}

/// Replaces a file with these bytes, and gives it the time of modification that it had.
fn under_the_old_time(path: &Path, bytes: &[u8]) {
    let time = fs::metadata(path).unwrap().modified().unwrap();
    fs::write(path, bytes).unwrap();
    File::options().write(true).open(path).unwrap().set_modified(time).unwrap();
}

fn set_back(path: &Path) {
    let before = SystemTime::now() - Duration::from_secs(3600);
    File::options().write(true).open(path).unwrap().set_modified(before).unwrap();
}

#[test]
fn every_week_of_the_log_is_what_a_review_of_its_files_says() {
    let now = today();
    let days: Vec<i32> = (0..40).map(|n| now - (n * n / 11) % 70).collect();
    let (desk, _) = kept("log-equals", &days);
    for said in [parts(&desk), parts(&desk)] {
        let weeks = said[0]["weeks"].as_array().unwrap();
        assert!(weeks.len() > 5, "{}", weeks.len());
        let mut answers = 0;
        for week in weeks {
            let until = i32::try_from(week["until_day"].as_i64().unwrap()).unwrap();
            assert_eq!((until + 3) % 7, 6, "1970-01-01 was a Thursday, so a Sunday is day 3");
            let mine: Vec<Session> = (days.iter().enumerate())
                .filter(|(_, day)| (until - 6..=until).contains(day))
                .map(|(at, day)| Session::of(evening(None, *day, at, 20)).unwrap())
                .collect();
            let part = review(&mine).parts.remove(0);
            let rows = || part.sittings.iter();
            let keys = || part.keys.iter();
            let close = |name: &str, sum: f64| {
                assert!((week[name].as_f64().unwrap() - sum).abs() < 1e-9, "{name} {sum} {week}");
            };
            assert_eq!(week["sittings"], mine.len());
            close("sounding_s", rows().map(|row| row.sounding.0).sum());
            close("resting_s", rows().map(|row| row.resting.0).sum());
            assert_eq!(week["rests"], rows().map(|row| row.rests).sum::<u32>());
            assert_eq!(week["answers"], keys().map(|row| row.answers).sum::<u32>());
            assert_eq!(week["whole"], rows().map(|row| row.whole).sum::<u32>());
            assert_eq!(week["first_tries"], keys().map(|row| row.first_tries).sum::<u32>());
            assert_eq!(week["first_whole"], keys().map(|row| row.first_whole).sum::<u32>());
            close("reflex_s", part.patterns[0].reflex.unwrap().0);
            answers += week["answers"].as_u64().unwrap();
        }
        assert_eq!(answers, 40 * 20, "every sitting is in one week");
        let all: Vec<Session> =
            days.iter().enumerate().map(|(at, day)| Session::of(evening(None, *day, at, 20)).unwrap()).collect();
        let back = review(&all).parts.remove(0).back;
        for (place, from, under) in [(0, 7, 30), (1, 30, i32::MAX)] {
            let mine: Vec<_> = back.iter().filter(|check| (from..under).contains(&check.days)).collect();
            let kept = &said[0]["kept"][place];
            assert_eq!(kept["tries"], mine.len());
            assert_eq!(kept["whole"], mine.iter().filter(|check| check.whole).count());
            assert!(mine.len() > 20);
        }
    }
}

#[test]
fn a_file_that_did_not_change_is_not_opened_again() {
    let (desk, folder) = kept("log-unread", &[today() - 1, today()]);
    let file = folder.join("0001.jsonl");
    for name in ["0000.jsonl", "0001.jsonl"] {
        set_back(&folder.join(name));
    }
    let before = log(&desk);
    assert_eq!(before["parts"][0]["sittings"], 2);
    // What stands in it now would be refused; only who opens it finds out.
    let size = fs::read(&file).unwrap().len();
    under_the_old_time(&file, &vec![b'x'; size]);
    assert_eq!(log(&desk), before);
    set_back(&file);
    let after = log(&desk);
    assert_eq!(after["parts"][0]["sittings"], 1, "under another time it is read, and is no sitting");
    assert!(after["unreadable"][0].as_str().unwrap().contains("0001.jsonl"), "{after}");
}

#[test]
fn what_changed_is_read_and_what_went_is_gone() {
    let (desk, folder) = kept("log-changed", &[today() - 1, today()]);
    assert_eq!(parts(&desk)[0]["sittings"], 2);
    // Of the same size, within the same second: only its hash tells.
    let text = fs::read_to_string(folder.join("0000.jsonl")).unwrap();
    let other = text.replace("\"right\":3", "\"right\":1");
    assert!(other != text && other.len() == text.len());
    under_the_old_time(&folder.join("0000.jsonl"), other.as_bytes());
    let whole =
        |said: &Value| said[0]["weeks"].as_array().unwrap().iter().map(|it| it["whole"].as_u64().unwrap()).sum::<u64>();
    assert!(whole(&parts(&desk)) < 20);
    fs::remove_file(folder.join("0000.jsonl")).unwrap();
    assert_eq!(parts(&desk)[0]["sittings"], 1);
    record(&folder, "0002.jsonl", &evening(None, today() - 2, 2, 20));
    fs::copy(folder.join("0002.jsonl"), folder.join("0003.jsonl")).unwrap();
    fs::write(folder.join("0004.jsonl"), &fs::read(folder.join("0002.jsonl")).unwrap()[..9000]).unwrap();
    assert_eq!(parts(&desk)[0]["sittings"], 2, "a copy, whole or cut off, counts once");
    assert!(desk.done("log").contains("is there twice and counts once"));
}

#[test]
fn an_index_that_is_not_ours_is_thrown_away_and_never_believed() {
    let (desk, _) = kept("log-broken", &[today() - 9, today() - 1, today()]);
    let index = desk.0.join("data/index.sqlite");
    let (said, good) = (parts(&desk), fs::read(&index).unwrap());
    let sql = |text: &str| rusqlite::Connection::open(&index).unwrap().execute_batch(text).unwrap();
    let spoil: [(&str, &dyn Fn()); 11] = [
        ("gone", &|| fs::remove_file(&index).unwrap()),
        ("no database", &|| fs::write(&index, b"not a database, but a letter to somebody").unwrap()),
        ("cut off", &|| fs::write(&index, &good[..good.len() / 2]).unwrap()),
        ("spoilt", &|| {
            let mut bytes = good.clone();
            bytes[4096..].iter_mut().for_each(|byte| *byte ^= 0x5a);
            fs::write(&index, bytes).unwrap();
        }),
        ("a later schema", &|| sql("pragma user_version = 77")),
        ("another program's", &|| sql("pragma application_id = 7; drop table answers; create table songs (name)")),
        ("a trigger", &|| sql("create trigger t after delete on answers begin delete from sittings; end")),
        ("a key that there is not", &|| sql("update answers set key_place = 99 where turn = 3")),
        ("a header that is none", &|| sql("update sittings set began = 'x'")),
        ("a mode that there is not", &|| sql("update answers set mode = 'purple'")),
        ("a link", &|| {
            fs::write(desk.0.join("elsewhere"), b"precious").unwrap();
            fs::remove_file(&index).unwrap();
            #[cfg(unix)]
            std::os::unix::fs::symlink(desk.0.join("elsewhere"), &index).unwrap();
        }),
    ];
    for (what, spoil) in spoil {
        spoil();
        assert_eq!(parts(&desk), said, "{what}");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(fs::symlink_metadata(&index).unwrap().permissions().mode() & 0o777, 0o600, "{what}");
        }
        assert_eq!(log(&desk)["unreadable"], serde_json::json!([]), "{what}: made anew, it is in use again");
    }
    assert_eq!(fs::read(desk.0.join("elsewhere")).unwrap(), b"precious");
    fs::remove_file(&index).unwrap();
    fs::create_dir(&index).unwrap();
    assert_eq!(parts(&desk), said, "a folder stands in its place: the files alone tell it");
}

#[test]
fn an_index_that_another_program_holds_is_waited_for_and_left_alone() {
    let (desk, _) = kept("log-busy", &[today()]);
    let (said, index) = (parts(&desk), desk.0.join("data/index.sqlite"));
    let other = rusqlite::Connection::open(&index).unwrap();
    other.execute_batch("begin exclusive").unwrap();
    assert_eq!(parts(&desk), said);
    other.execute_batch("rollback").unwrap();
    assert_eq!(parts(&desk), said);
}

#[test]
fn each_player_has_a_log_and_a_hostile_name_is_inert_in_it() {
    let desk = Desk::new("log-names");
    let folder = desk.0.join("data/sessions");
    let hostile = "'; drop table sittings; --\u{1b}[2J<b>";
    for (at, (byte, name)) in [(0xa1, "Anna"), (0xb2, hostile), (0xb2, hostile)].into_iter().enumerate() {
        record(&folder, &format!("{at:04}.jsonl"), &evening(player(byte, name), today(), at, 4));
    }
    let ids = [("a1", "Anna"), ("b2", "Ben")]
        .map(|(byte, name)| format!("[[player]]\nid = \"{}\"\nname = \"{name}\"\n", byte.repeat(16)));
    let said = desk.done("log --player b2b2");
    assert!(said.contains("2 sittings on 1 day"), "whom only records know\n{said}");
    let said = desk.done("log");
    assert!(said.contains(", Anna\n") && said.contains(", '; drop"), "nobody is known, so all are meant\n{said}");
    fs::write(desk.0.join("data/settings.toml"), ids.concat()).unwrap();
    let said = desk.done("log");
    assert!(said.contains("Trumpet in Bb (written pitch), Anna\n1 sitting on 1 day"), "{said}");
    assert!(said.contains("(2 sittings of other players: --player NAME)"), "{said}");
    let said = desk.done("log --player b2b2");
    assert!(said.contains("'; drop table sittings; -- [2J<b>") && !said.contains('\u{1b}'), "{said}");
    assert!(desk.run("log --player Carl").1.contains("no player here is called"));
    assert!(Desk::new("log-none").done("log").contains("No sitting is kept here yet."));
}

#[test]
fn of_a_key_left_alone_it_is_told_how_its_last_answer_was_and_not_that_it_came_back() {
    let (desk, _) = kept("log-left", &[today() - 11]);
    let said = desk.done("log").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Left alone in what you practise, and how each key stood then"), "{said}");
    // The local day may be one more or less.
    let away = ["ten", "eleven", "twelve"].map(|days| format!("not answered for {days} days; its last answer "));
    assert!(away.iter().any(|away| said.contains(&format!("{away}was all right"))), "{said}");
    assert!(away.iter().any(|away| said.contains(&format!("{away}had 2 of 3 notes right"))), "{said}");
}

/// `EARFIRST_LONGER=1` makes a thousand sittings of sixty cues; `--nocapture` shows the times.
#[test]
fn a_thousand_sittings_are_counted() {
    let many = if std::env::var_os("EARFIRST_LONGER").is_some() { 1000 } else { 60 };
    let desk = Desk::new("log-thousand");
    let folder = desk.0.join("data/sessions");
    for at in 0..many {
        record(&folder, &format!("{at:04}.jsonl"), &evening(None, today() - i32::try_from(at / 2).unwrap(), at, 60));
        set_back(&folder.join(format!("{at:04}.jsonl")));
    }
    let said: Vec<Value> = ["made", "as it stands"]
        .into_iter()
        .map(|what| {
            let began = Instant::now();
            let said = log(&desk);
            println!("{many} sittings of 60 cues, the index {what}: {:.2} s", began.elapsed().as_secs_f64());
            said
        })
        .collect();
    assert_eq!(said[0]["parts"][0]["sittings"], many);
    assert_eq!(said[0], said[1]);
}
