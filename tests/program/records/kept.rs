//! The live folder of a sitting and its finished file: what is kept of a sitting, even if the program is killed.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

use earfirst::outside::files::{
    FileErrorKind, KeepSound, Places, SessionFolder, Stored, finish_unfinished, read_sessions, unfinished,
};
use earfirst::outside::session::{Event, Session, read};

use crate::records::made;

/// An empty folder for one test, which is removed at the end.
pub struct Fresh(pub PathBuf);

impl Fresh {
    pub fn new(name: &str) -> Self {
        // Two tests of one process may choose the same name.
        static MADE: AtomicU32 = AtomicU32::new(0);
        let number = MADE.fetch_add(1, Ordering::Relaxed);
        let folder = std::env::temp_dir().join(format!("earfirst-records-{name}-{}-{number}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }
}

impl Drop for Fresh {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn review(session: &Session) -> String {
    format!("{} cues\n", session.trials.len())
}

/// The sound of the answer to cue `number`, as long as its record says.
fn sound(number: u32) -> Vec<f32> {
    let (_, count) = made::answer(number).sound.unwrap();
    (0..count).map(|n| (n as f32 * 0.05 * number as f32).sin() * 0.5).collect()
}

fn play(live: &mut SessionFolder, events: &[Event]) {
    for event in &events[1..] {
        if let Event::Answered(answer) = event {
            assert_eq!(live.sound(&sound(answer.cue)), answer.sound);
        }
        live.record(event);
    }
}

fn only(found: &Path) -> Stored {
    let found = read_sessions(&[found.to_owned()]);
    assert_eq!((found.failures.as_slice(), found.sessions.len()), (&[][..], 1));
    found.sessions.into_iter().next().unwrap()
}

fn check_sound(stored: &Stored, cues: u32) {
    for number in 1..=cues {
        let clip = stored.sound(made::answer(number).sound.unwrap()).unwrap().unwrap();
        let near = clip.samples.iter().zip(sound(number)).all(|(a, b)| (a - b).abs() < 1.0 / 32_768.0);
        assert!(near && clip.samples.len() == 480, "cue {number}");
    }
}

#[test]
fn a_finished_sitting_is_one_file_with_the_record_the_sound_and_the_review() {
    let fresh = Fresh::new("finished");
    let places = Places::at(&fresh.0);
    let events = made::sitting(3);
    let mut live = SessionFolder::begin(&places, &made::began(), KeepSound::All);
    play(&mut live, &events);
    assert_eq!(live.trouble(), None);
    let folder = live.folder().unwrap().to_owned();
    assert_eq!(only(&folder).events, events);
    check_sound(&only(&folder), 3);
    let path = live.finish(&review).unwrap().unwrap();
    assert_eq!(path, places.sessions().join("2026-11-25-1830-trumpet.zip"));
    assert!(!folder.exists());
    let stored = only(&places.sessions());
    assert_eq!((&stored.path, &stored.events, &stored.damage), (&path, &events, &None));
    check_sound(&stored, 3);
    // Stored, not packed: the review can be read by any program that shows text.
    let bytes = fs::read(&path).unwrap();
    assert!(bytes.windows(7).any(|window| window == b"3 cues\n"));
}

#[test]
fn a_file_that_was_cut_off_on_its_way_still_gives_its_record() {
    let fresh = Fresh::new("cut");
    let places = Places::at(&fresh.0);
    let events = made::sitting(3);
    let mut live = SessionFolder::begin(&places, &made::began(), KeepSound::All);
    play(&mut live, &events);
    let path = live.finish(&review).unwrap().unwrap();
    let whole = fs::read(&path).unwrap();
    for share in [0.95, 0.5, 0.2] {
        fs::write(&path, &whole[..(whole.len() as f64 * share) as usize]).unwrap();
        let stored = only(&path);
        assert!(!stored.events.is_empty() && events.starts_with(&stored.events), "{share}: {:?}", stored.damage);
        assert!(stored.damage.is_some(), "it is told that something is missing");
    }
}

#[test]
fn two_sittings_of_one_minute_do_not_overwrite_each_other() {
    let fresh = Fresh::new("minute");
    let places = Places::at(&fresh.0);
    let begin = || SessionFolder::begin(&places, &made::began(), KeepSound::None);
    let (mut one, mut two) = (begin(), begin());
    play_silently(&mut one, 1);
    play_silently(&mut two, 2);
    let first = one.finish(&review).unwrap().unwrap();
    let mut three = begin();
    play_silently(&mut three, 3);
    let names: Vec<_> = [first, two.finish(&review).unwrap().unwrap(), three.finish(&review).unwrap().unwrap()]
        .iter()
        .map(|path| path.file_name().unwrap().to_string_lossy().into_owned())
        .collect();
    assert_eq!(
        names,
        ["2026-11-25-1830-trumpet.zip", "2026-11-25-1830-trumpet-2.zip", "2026-11-25-1830-trumpet-3.zip"]
    );
    let found = read_sessions(&[places.sessions()]);
    let mut cues: Vec<_> = found.sessions.iter().map(|stored| stored.session().unwrap().trials.len()).collect();
    cues.sort_unstable();
    assert_eq!(cues, [1, 2, 3]);
}

fn play_silently(live: &mut SessionFolder, cues: u32) {
    made::sitting(cues)[1..].iter().for_each(|event| live.record(event));
}

#[test]
fn a_sitting_in_which_nothing_was_asked_leaves_nothing() {
    let fresh = Fresh::new("nothing");
    let places = Places::at(&fresh.0);
    let mut live = SessionFolder::begin(&places, &made::began(), KeepSound::All);
    assert_eq!(live.finish(&review), Ok(None));
    assert_eq!(fs::read_dir(places.sessions()).unwrap().count(), 0);
}

#[test]
fn no_sound_is_kept_where_none_is_wanted() {
    let fresh = Fresh::new("silent");
    let mut live = SessionFolder::begin(&Places::at(&fresh.0), &made::began(), KeepSound::None);
    assert_eq!(live.sound(&sound(1)), None);
    assert!(!live.folder().unwrap().join("answers.wav").exists());
    assert!(!KeepSound::None.keeps(false) && KeepSound::All.keeps(true));
    assert!(KeepSound::Some.keeps(false) && !KeepSound::Some.keeps(true));
}

#[test]
fn where_nothing_can_be_written_the_sitting_goes_on_and_is_finished_in_another_place() {
    let fresh = Fresh::new("elsewhere");
    let blocked = fresh.0.join("blocked");
    fs::write(&blocked, "a file, not a folder").unwrap();
    let mut live = SessionFolder::begin(&Places::at(&blocked), &made::began(), KeepSound::All);
    let events = made::sitting(3);
    play(&mut live, &events);
    let told = live.trouble().unwrap();
    assert_eq!(told.kind, FileErrorKind::ReadOnly);
    let text = told.to_string();
    assert!(text.contains("cannot write the session in") && text.contains("blocked/sessions"), "{text}");
    assert!(text.contains("choose another folder"), "{text}");
    assert!(live.finish(&review).is_err());
    let path = live.finish_at(&fresh.0.join("other"), &review).unwrap().unwrap();
    let stored = only(&path);
    assert_eq!(stored.events, events);
    check_sound(&stored, 3);
}

#[test]
fn a_folder_in_use_is_left_alone_and_a_killed_one_is_finished() {
    let fresh = Fresh::new("killed");
    let places = Places::at(&fresh.0);
    let mut live = SessionFolder::begin(&places, &made::began(), KeepSound::All);
    play(&mut live, &made::sitting(2));
    let folder = live.folder().unwrap().to_owned();
    assert_eq!(unfinished(&places.sessions()).unwrap(), [] as [PathBuf; 0]);
    assert_eq!(finish_unfinished(&folder, &review).unwrap_err().kind, FileErrorKind::InUse);
    drop(live);
    assert_eq!(unfinished(&places.sessions()).unwrap(), std::slice::from_ref(&folder));
    let path = finish_unfinished(&folder, &review).unwrap().unwrap();
    assert!(!folder.exists());
    let stored = only(&path);
    assert_eq!(stored.events, made::sitting(2));
    check_sound(&stored, 2);
}

#[test]
fn cut_anywhere_a_killed_sitting_is_finished_with_all_but_the_line_in_progress() {
    let fresh = Fresh::new("cut");
    let events = made::sitting(2);
    let record = made::file(&events);
    let folder = fresh.0.join("2026-11-25-1830-trumpet");
    for length in (0..record.len()).step_by(97).chain([record.len() - 1]) {
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join("session.jsonl"), &record[..length]).unwrap();
        let (kept, _) = read(&record[..length]);
        let cues = kept.iter().filter(|event| matches!(event, Event::Cued { .. })).count();
        match finish_unfinished(&folder, &review) {
            Err(failure) => {
                assert!(kept.is_empty(), "{length}: {failure}");
                fs::remove_dir_all(&folder).unwrap();
            }
            Ok(None) => assert_eq!(cues, 0, "{length}"),
            Ok(Some(path)) => {
                let stored = only(&path);
                assert_eq!((&stored.events, &stored.damage), (&kept, &None), "{length}");
                fs::remove_file(path).unwrap();
            }
        }
        assert!(!folder.exists(), "{length}");
    }
}

#[test]
fn killed_between_making_the_file_and_removing_the_folder_there_is_one_file_in_the_end() {
    let fresh = Fresh::new("between");
    let record = made::file(&made::sitting(2));
    let folder = fresh.0.join("2026-11-25-1830-trumpet");
    for _ in 0..2 {
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join("session.jsonl"), &record).unwrap();
        finish_unfinished(&folder, &review).unwrap().unwrap();
    }
    assert_eq!(fs::read_dir(&fresh.0).unwrap().count(), 1);
}

const ROLE: &str = "EARFIRST_TEST_WRITES_TO";
/// The environment variable that says how often the program is killed, for the longer check.
pub const ROUNDS: &str = "EARFIRST_KILLS";

/// The test runs itself as a second process, which writes as fast as it can until it is killed.
#[test]
fn killed_at_any_moment_at_most_the_line_in_progress_is_lost() {
    if let Some(data) = std::env::var_os(ROLE) {
        write_until_killed(Path::new(&data));
    }
    let rounds = std::env::var(ROUNDS).ok().and_then(|rounds| rounds.parse().ok()).unwrap_or(20);
    for round in 1..=rounds {
        let fresh = Fresh::new(&format!("kill-{round}"));
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "records::kept::killed_at_any_moment_at_most_the_line_in_progress_is_lost"])
            .env(ROLE, &fresh.0)
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let folder = fresh.0.join("sessions/2026-11-25-1830-trumpet");
        // From the first cue to several hundred, a little further into a line each time.
        let enough = 3000 + (round % 20) * (round % 20) * 517 + round;
        while fs::metadata(folder.join("session.jsonl")).map_or(0, |meta| meta.len()) < enough {
            assert_eq!(child.try_wait().unwrap(), None, "the writer stopped by itself");
            std::thread::yield_now();
        }
        child.kill().unwrap();
        child.wait().unwrap();
        check_killed(&fresh.0.join("sessions"));
    }
}

fn write_until_killed(data: &Path) -> ! {
    let mut live = SessionFolder::begin(&Places::at(data), &made::began(), KeepSound::All);
    for number in 1.. {
        live.record(&made::sitting(number)[3 * number as usize - 2]);
        assert_eq!(live.sound(&sound(number)), made::answer(number).sound);
        live.record(&Event::Answered(made::answer(number)));
        live.record(&Event::Judged(made::judgement(number)));
    }
    std::process::exit(1)
}

fn check_killed(sessions: &Path) {
    let folders = unfinished(sessions).unwrap();
    let path = finish_unfinished(&folders[0], &review).unwrap().unwrap();
    let stored = only(&path);
    let cues = stored.session().unwrap().trials.len() as u32;
    let whole = made::sitting(cues);
    assert_eq!(stored.events, whole[..stored.events.len()]);
    assert!(stored.events.len() >= 3 * cues as usize - 1, "more than the line in progress is lost");
    let answered = stored.events.iter().filter(|event| matches!(event, Event::Answered(_))).count();
    check_sound(&stored, answered as u32);
}

#[test]
fn a_folder_of_many_kinds_is_read_and_what_is_foreign_is_told() {
    let fresh = Fresh::new("many");
    let record = made::file(&made::sitting(1));
    fs::write(fresh.0.join("a.jsonl"), &record).unwrap();
    fs::create_dir_all(fresh.0.join("b")).unwrap();
    fs::write(fresh.0.join("b/session.jsonl"), &record[..record.len() - 20]).unwrap();
    zip_of(&fresh.0.join("c.zip"), &[("2026/session.jsonl", &record), ("2026/answers.wav", b"RIFF")]);
    zip_of(&fresh.0.join("d.zip"), &[("../../session.jsonl", &record)]);
    zip_of(&fresh.0.join("e.zip"), &[("notes.txt", b"nothing")]);
    fs::write(fresh.0.join("f.zip"), b"PK\x05\x06 not really").unwrap();
    fs::write(fresh.0.join("readme.txt"), b"not looked at").unwrap();
    let found = read_sessions(&[fresh.0.clone(), fresh.0.join("absent.zip")]);
    let names: Vec<_> = found.sessions.iter().map(|s| s.path.file_name().unwrap().to_string_lossy()).collect();
    assert_eq!(names, ["a.jsonl", "b", "c.zip", "d.zip"]);
    assert!(found.sessions[1].damage.is_some());
    let told: Vec<_> = found.failures.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 3, "{told:?}");
    assert!(told[0].contains("there is no session.jsonl in it"), "{told:?}");
    assert!(told[1].contains("ask for the file again"), "{told:?}");
    assert!(told[2].contains("there is no such file"), "{told:?}");
    // A name that climbs out of the folder is only read, never made a path of.
    assert!(!fresh.0.join("../../session.jsonl").exists());
}

#[test]
fn a_sitting_that_lies_there_twice_counts_once_even_where_a_copy_is_damaged() {
    let fresh = Fresh::new("twice");
    let record = made::file(&made::sitting(2));
    let text = String::from_utf8(record.clone()).unwrap();
    let spoilt: Vec<&str> =
        text.lines().enumerate().map(|(n, line)| if n == 4 { &line[..line.len() / 2] } else { line }).collect();
    fs::write(fresh.0.join("a.jsonl"), spoilt.join("\n")).unwrap();
    fs::write(fresh.0.join("b.jsonl"), &record).unwrap();
    fs::write(fresh.0.join("c.jsonl"), &record[..record.len() - 20]).unwrap();
    fs::write(fresh.0.join("d.jsonl"), &record).unwrap();
    let mut found = read_sessions(std::slice::from_ref(&fresh.0));
    assert_eq!(found.sessions.len(), 4);
    assert_eq!(found.once(), ["a.jsonl", "c.jsonl", "d.jsonl"].map(|name| fresh.0.join(name)));
    assert_eq!(found.sessions[0].path, fresh.0.join("b.jsonl"));
}

fn zip_of(path: &Path, files: &[(&str, &[u8])]) {
    let mut zip = zip::ZipWriter::new(fs::File::create(path).unwrap());
    for (name, bytes) in files {
        let options = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
        zip.start_file(*name, options).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap();
}

#[test]
fn a_record_that_never_ends_is_refused() {
    let fresh = Fresh::new("endless");
    let path = fresh.0.join("x.jsonl");
    let file = fs::File::create(&path).unwrap();
    file.set_len(65 << 20).unwrap();
    let found = read_sessions(&[path]);
    assert_eq!(found.failures[0].kind, FileErrorKind::TooLarge);
}

#[test]
fn a_session_file_with_bytes_changed_is_read_or_refused() {
    let fresh = Fresh::new("changed");
    let path = fresh.0.join("x.zip");
    let record = made::file(&made::sitting(1));
    zip_of(&path, &[("session.jsonl", &record), ("answers.wav", &[0; 60])]);
    let whole = fs::read(&path).unwrap();
    arbtest::arbtest(|u| {
        let mut bytes = whole.clone();
        for _ in 0..u.int_in_range(1..=6)? {
            // Half of the changes fall into the table at the end, where the sizes and places stand.
            let from = if u.arbitrary()? { bytes.len() - 200 } else { 0 };
            let at = u.int_in_range(from..=bytes.len() - 1)?;
            bytes[at] = u.arbitrary()?;
        }
        bytes.truncate(if u.ratio(1, 4)? { u.choose_index(bytes.len())? } else { bytes.len() });
        fs::write(&path, &bytes).unwrap();
        for stored in read_sessions(std::slice::from_ref(&path)).sessions {
            let _ = stored.sound((0, 1000));
        }
        Ok(())
    })
    .budget_ms(1500);
}
