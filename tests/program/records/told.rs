//! What the program's commands say of records.

use std::fs;
use std::process::{Command, Stdio};

use earfirst::outside::files::read_sessions;
use earfirst::outside::session::{Event, read};
use serde_json::Value;

use crate::desk::Desk;
use crate::records::made;
use crate::stage::Stage;

/// Makes a sitting of the simulated player on a desk, and hands back its file.
fn evening(desk: &Desk, more: &str) -> String {
    desk.done(&format!("demo --fast --plain --seed 7 --answers 8 {more}"));
    let found = read_sessions(&[desk.0.join("data/sessions")]);
    found.sessions.last().unwrap().path.display().to_string()
}

#[test]
fn judged_again_tells_how_many_and_how_many_have_no_sound() {
    let desk = Desk::new("again");
    let file = evening(&desk, "--keep-sound all");
    let said = desk.done(&format!("review {file} --again"));
    let answers = read_sessions(&[file.clone().into()]).sessions[0].session().unwrap();
    let answers = answers.trials.iter().filter(|turn| turn.judgement.is_some()).count();
    let all = format!("judged again: {answers} answers, and {answers} sentences made again: nothing differs\n");
    assert!(said.ends_with(&all), "{said}");
    // Only the record, without the sound.
    let mut zip = zip::ZipArchive::new(fs::File::open(&file).unwrap()).unwrap();
    let mut record = Vec::new();
    std::io::copy(&mut zip.by_name("session.jsonl").unwrap(), &mut record).unwrap();
    desk.file("alone.jsonl", &record);
    let said = desk.done("review alone.jsonl --again");
    let none = format!("no answer was judged again: {answers} have no sound; {answers} sentences made again: nothing");
    assert!(said.contains(&none), "{said}");
    // And a sound that was cut off.
    let flac = zip.by_name("answers.flac").map(|mut flac| {
        let mut bytes = Vec::new();
        std::io::copy(&mut flac, &mut bytes).unwrap();
        bytes
    });
    fs::create_dir(desk.0.join("half")).unwrap();
    let flac = flac.unwrap();
    desk.file("half/session.jsonl", &record);
    desk.file("half/answers.flac", &flac[..flac.len() / 2]);
    let said = desk.done("review half --again");
    let last = said.lines().last().unwrap();
    assert!(last.starts_with("judged again: ") && last.contains(" have no sound; "), "{said}");
    assert!(last.ends_with("nothing differs"), "{said}");
}

#[test]
fn a_sitting_dated_after_today_is_named_and_the_coach_does_not_learn_from_it() {
    let desk = Desk::new("later");
    let mut events = made::sitting(3);
    let write = |name: &str, events: &[Event]| desk.file(&format!("data/sessions/{name}.jsonl"), &made::file(events));
    fs::create_dir_all(desk.0.join("data/sessions")).unwrap();
    if let Event::Began(began) = &mut events[0] {
        began.simulated = false;
        began.patterns = vec![earfirst::outside::pattern::PatternId("major-triad-up".to_owned())];
    }
    for event in &mut events {
        if let Event::Cued { cue, .. } = event {
            cue.pattern = earfirst::outside::pattern::PatternId("major-triad-up".to_owned());
        }
    }
    let coach = "coach --instrument trumpet major-triad-up";
    let alone = desk.done(coach);
    if let Event::Began(began) = &mut events[0] {
        began.started = "2099-03-01T10:00:00+01:00".to_owned();
        began.day = 47_176;
    }
    write("later", &events);
    let said = desk.done(coach);
    assert!(said.contains("later.jsonl is dated 2099-03-01, after today, so it is left out"), "{said}");
    let named = said.lines().filter(|line| line.contains("dated 2099")).count();
    assert_eq!(
        (named, said.lines().filter(|line| !line.contains("dated 2099")).eq(alone.lines())),
        (1, true),
        "{said}"
    );
    let review = desk.done("review data/sessions --again");
    assert!(review.contains("is dated 2099-03-01, after today") && review.contains("3 cues"), "{review}");
    assert!(review.contains("no answer was judged again: 3 have no sound"), "{review}");
    // The same, dated rightly, is learnt from.
    if let Event::Began(began) = &mut events[0] {
        began.started = "2026-11-25T18:30:00+01:00".to_owned();
        began.day = 20_782;
    }
    write("later", &events);
    assert_ne!(desk.done(coach), alone);
}

#[test]
fn more_notes_right_than_were_asked_are_refused() {
    let mut events = made::sitting(1);
    if let Event::Judged(judgement) = &mut events[3] {
        judgement.verdict.of = 27;
        judgement.verdict.right = 27;
    }
    let text = String::from_utf8(made::file(&events)).unwrap();
    assert_eq!(read(text.as_bytes()).1, None);
    let (kept, damage) = read(text.replace("\"right\":27", "\"right\":28").as_bytes());
    assert_eq!(kept.len(), events.len() - 1);
    let damage = damage.unwrap();
    assert_eq!(damage.why, "28 notes right of 27");
    assert!(damage.to_string().ends_with("ask for it again"), "{damage}");
}

#[test]
fn a_line_that_never_ends_is_refused_before_it_fills_the_memory() {
    for command in [["grade", "--json-lines"], ["coach", "--json-lines"]] {
        let mut child = Command::new(env!("CARGO_BIN_EXE_earfirst"))
            .args(command)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // The program stops reading on the way.
        let _ = std::io::Write::write_all(&mut child.stdin.take().unwrap(), &vec![b'['; 3 << 20]);
        let told = child.wait_with_output().unwrap();
        let said = String::from_utf8(told.stderr).unwrap();
        assert_eq!(told.status.code(), Some(4), "{said}");
        assert!(said.contains("standard input:1: the line is longer than 1 MiB"), "{said}");
    }
}

#[test]
fn times_in_a_review_are_places_in_the_stored_sound() {
    let desk = Desk::new("times");
    let file = evening(&desk, "--keep-sound all --cue pattern");
    let stored = read_sessions(&[file.clone().into()]).sessions.remove(0);
    let session = stored.session().unwrap();
    let end = session.trials.iter().filter_map(|turn| turn.answer.as_ref()?.sound).map(|(first, count)| first + count);
    let seconds = end.max().unwrap() as f64 / session.began.rate.per_second();
    assert!(seconds < session.until.0, "only the answers are kept");
    let told = desk.done(&format!("review {file} --json"));
    assert!(!told.contains("-0.0,"), "a figure for machines has no minus zero: {told}");
    let told: Value = serde_json::from_str(&told).unwrap();
    let part = &told["parts"][0];
    let takes: Vec<&Value> = ["best", "worst"].iter().flat_map(|it| part[*it].as_array().unwrap()).collect();
    assert!(!takes.is_empty());
    let text = desk.done(&format!("review {file}"));
    for take in takes {
        let at = take["sound_at_s"].as_f64().unwrap();
        let sound = (take["sound_from_sample"].as_u64().unwrap(), take["sound_samples"].as_u64().unwrap());
        assert!(at < seconds && stored.sound(sound).unwrap().unwrap().samples.len() as u64 == sound.1);
        let (minutes, rest) = (at as u64 / 60, at as u64 % 60);
        let key = take["written_key"].as_str().unwrap();
        assert!(text.contains(&format!("  {minutes}:{rest:02}  {key}  ")), "{at} {text}");
    }
    // Everything that the page tells.
    let (sitting, key) = (&part["sittings"][0], &part["keys"][0]);
    assert!(sitting["day"].as_i64().unwrap() > 20_000 && part["days"][0] == sitting["day"]);
    for name in ["offset_cents", "drift_cents", "not_judged", "ended"] {
        assert!(sitting.get(name).is_some(), "{name}");
    }
    for name in ["written_key", "tempo_held_quarter_per_minute", "late_s", "reflex"] {
        assert!(key.get(name).is_some(), "{name}");
    }
    let pitch = &part["pitches"][0];
    assert_eq!(pitch["written_midi"].as_i64().unwrap() - pitch["midi"].as_i64().unwrap(), 2, "a trumpet in Bb");
}

#[test]
fn without_a_terminal_no_sound_is_kept_unasked_and_on_one_the_question_comes_before_the_drill() {
    let desk = Desk::new("unasked");
    // A device of that name is nowhere, so nothing is ever recorded here.
    let none = "drill major-triad-up --instrument trumpet --input no-such-microphone-anywhere";
    let (_, said) = desk.run(none);
    assert!(
        said.contains("nobody is here to be asked, so no sound of the answers is kept; --keep-sound all"),
        "{said}"
    );
    let (_, said) = desk.run(&format!("{none} --keep-sound some"));
    assert!(!said.contains("nobody is here"), "{said}");
    let mut stage = Stage::begin("sound-asked", &none.split(' ').collect::<Vec<_>>(), 80, 24, &[]);
    stage.await_text("Keep the sound of your answers on this machine");
    stage.press("non\r");
    stage.await_text("earfirst devices");
    let kept = fs::read_to_string(stage.data.join("settings.toml")).unwrap();
    assert_eq!(kept.trim(), "keep_sound = \"none\"");
    let mut again = Stage::begin(
        "sound-asked-by-flag",
        &[&none.split(' ').collect::<Vec<_>>()[..], &["--keep-sound", "all"]].concat(),
        80,
        24,
        &[],
    );
    again.await_text("earfirst devices");
    assert!(!again.rows.iter().any(|row| row.contains("Keep the sound")));
}
