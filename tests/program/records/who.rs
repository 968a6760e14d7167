//! Whose record it is: a player has an id that stays and a name that may change.

use std::fs;
use std::path::Path;

use earfirst::outside::files::{KeepSound, Places, SessionFolder, read_sessions};
use earfirst::outside::report::{gather, review, to_html, to_text};
use earfirst::outside::session::{Began, Event, NamedPlayer, PlayerId, Session, read, write_line};
use serde_json::Value;

use crate::desk::Desk;
use crate::records::made;

pub fn player(byte: u8, name: &str) -> Option<NamedPlayer> {
    Some(NamedPlayer::new(PlayerId::new([byte; 16]), name))
}

/// A sitting of a person on the trumpet.
fn evening(whose: Option<NamedPlayer>, day: i32) -> Vec<Event> {
    let began = Began { player: whose, day, simulated: false, ..made::began() };
    let mut events = vec![Event::Began(began)];
    for number in 1..=2 {
        let mut cue = made::cue(number);
        cue.line = made::three_notes(60);
        events.push(Event::Cued { at: cue_at(number), cue, reason: earfirst::outside::coach::Reason::Even });
        events.push(Event::Answered(made::answer(number)));
        events.push(Event::Judged(made::judgement(number)));
    }
    events
}

fn cue_at(number: u32) -> earfirst::outside::units::Seconds {
    earfirst::outside::units::Seconds(f64::from(number) * 10.0)
}

fn sessions(evenings: &[(Option<NamedPlayer>, i32)]) -> Vec<Session> {
    evenings.iter().map(|(whose, day)| Session::of(evening(whose.clone(), *day)).unwrap()).collect()
}

/// Writes the record of an evening into a folder.
pub fn record(folder: &Path, name: &str, events: &[Event]) {
    fs::create_dir_all(folder).unwrap();
    fs::write(folder.join(name), events.iter().map(write_line).collect::<String>()).unwrap();
}

#[test]
fn a_record_says_who_played_and_one_from_before_says_nobody() {
    let events = evening(player(0xa1, "Anna"), 20_000);
    let line = write_line(&events[0]);
    assert!(line.contains("\"player\":{\"id\":\"a1a1a1a1a1a1a1a1a1a1a1a1a1a1a1a1\",\"name\":\"Anna\"}"), "{line}");
    let (back, damage) = read(line.as_bytes());
    assert_eq!((back.as_slice(), damage), (&events[..1], None));
    assert!(!write_line(&evening(None, 20_000)[0]).contains("player"));
    let (back, damage) = read(line.replace("a1a1", "A1A1").as_bytes());
    assert!(back.is_empty() && damage.is_some(), "an id that is none is refused");
}

#[test]
fn two_trumpeters_of_one_evening_stay_two_even_under_one_name() {
    let both = [(player(0xa1, "Anna"), 20_000), (player(0xb2, "Anna"), 20_000), (None, 20_000)];
    let text = to_text(&review(&sessions(&both)));
    for head in
        ["Trumpet in Bb (written pitch), Anna (a1a1)\n", "written pitch), Anna (b2b2)\n", "written pitch), unnamed\n"]
    {
        assert!(text.contains(head), "{head}\n{text}");
    }
    let heads: Vec<String> = gather(&sessions(&both)).into_iter().map(|page| page.player).collect();
    assert_eq!(heads, ["Anna (a1a1)", "Anna (b2b2)", "Unnamed"]);
}

#[test]
fn a_player_who_changes_the_name_keeps_the_history() {
    let found = review(&sessions(&[(player(0xa1, "Anna"), 20_000), (player(0xa1, "Anna B."), 20_007)]));
    assert_eq!(found.parts.len(), 1);
    assert_eq!(found.parts[0].player.as_ref().unwrap().name, "Anna B.", "the latest name");
    assert_eq!(found.parts[0].sittings.len(), 2);
}

#[test]
fn a_hostile_name_is_only_a_name_in_file_page_and_text() {
    let hostile = "../../<img src=x onerror=alert(1)>\u{1b}[2J\u{202e}";
    let desk = Desk::new("hostile-name");
    let places = Places::at(&desk.0);
    let events = evening(player(0xa1, hostile), 20_000);
    let Event::Began(began) = &events[0] else { panic!("a header") };
    let mut live = SessionFolder::begin(&places, began, KeepSound::None);
    events[1..].iter().for_each(|event| live.record(event));
    let file = live.finish(&|_| String::new()).unwrap().unwrap();
    assert_eq!(file.parent(), Some(places.sessions().as_path()));
    let name = file.file_name().unwrap().to_str().unwrap();
    assert_eq!(name, "2026-11-25-1830-trumpet-img-src-x-onerror-alert-a1a1.zip");
    let session = read_sessions(&[file]).sessions[0].session().unwrap();
    let html = to_html(&gather(std::slice::from_ref(&session)));
    assert!(html.contains("<bdi>../../&lt;img src=x") && !html.contains("<img"), "turns no writing round: {html:.600}");
    let text = to_text(&review(&[session]));
    assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text}");
}

#[test]
fn a_teacher_names_one_folder_with_a_folder_for_each_student() {
    let desk = Desk::new("students");
    record(&desk.0.join("class/anna"), "one.jsonl", &evening(player(0xa1, "Anna"), 20_000));
    record(&desk.0.join("class/ben/2026"), "one.jsonl", &evening(player(0xb2, "Ben"), 20_000));
    record(&desk.0.join("class/.trash"), "one.jsonl", &evening(player(0xc3, "Carl"), 20_000));
    #[cfg(unix)]
    std::os::unix::fs::symlink(desk.0.join("class"), desk.0.join("class/ben/again")).unwrap();
    let said = desk.done("review class");
    assert!(said.contains("written pitch), Anna\n") && said.contains("written pitch), Ben\n"), "{said}");
    assert!(!said.contains("Carl") && !said.contains("twice"), "{said}");
    let json: Value = serde_json::from_str(&desk.done("review class --json")).unwrap();
    let names: Vec<&str> =
        json["parts"].as_array().unwrap().iter().filter_map(|it| it["player"]["name"].as_str()).collect();
    assert_eq!(names, ["Anna", "Ben"]);
    fs::create_dir_all(desk.0.join("empty/below")).unwrap();
    let (code, said) = desk.run("review empty");
    assert!(code != 0 && said.contains("there is none"), "{said}");
}

#[test]
fn the_coach_learns_from_the_players_own_records_only() {
    let desk = Desk::new("own");
    let data = desk.0.join("data");
    fs::create_dir_all(&data).unwrap();
    let known = [("a1", "Anna"), ("b2", "Ben")]
        .map(|(id, name)| format!("[[player]]\nid = \"{}\"\nname = \"{name}\"\n", id.repeat(16)));
    fs::write(data.join("settings.toml"), format!("instrument = \"trumpet\"\n{}", known.concat())).unwrap();
    let coach = |more: &str| desk.done(&format!("coach five-note-row-up-and-down{more}"));
    let nobody = coach("");
    let learnt = |whose: Option<NamedPlayer>| {
        let mut events = evening(whose, 20_000);
        for event in &mut events {
            if let Event::Cued { cue, .. } = event {
                cue.pattern = earfirst::outside::pattern::PatternId("five-note-row-up-and-down".to_owned());
            }
        }
        record(&data.join("sessions"), "one.jsonl", &events);
    };
    learnt(player(0xa1, "Anna as she was called then"));
    assert_ne!(coach(" --player anna"), nobody, "her own, whatever her name was");
    assert_ne!(coach(""), nobody, "the first player is meant where nobody is named");
    let left_out = "Answers of the simulated player under your name are left out.";
    assert!(!coach(" --player Anna").contains(left_out));
    let mut simulated = evening(player(0xa1, "Anna"), 20_001);
    if let Some(Event::Began(began)) = simulated.first_mut() {
        began.simulated = true;
    }
    record(&data.join("sessions"), "simulated.jsonl", &simulated);
    assert!(coach(" --player Anna").contains(left_out));
    fs::remove_file(data.join("sessions/simulated.jsonl")).unwrap();
    assert_eq!(coach(" --player Ben"), nobody);
    assert_eq!(coach(" --player b2b2"), nobody);
    learnt(None);
    assert_ne!(coach(" --player Anna"), nobody, "what is older than names is the first player's");
    assert_eq!(coach(" --player Ben"), nobody);
    let (code, said) = desk.run("coach --player Carl");
    assert!(code == 2 && said.contains("no player here is called \"Carl\"") && said.contains("Anna, Ben"), "{said}");
}

#[test]
fn a_new_player_gets_an_id_that_stays() {
    let desk = Desk::new("new-player");
    let ids = || -> Vec<String> {
        let text = fs::read_to_string(desk.0.join("data/settings.toml")).unwrap();
        text.lines().filter_map(|line| line.strip_prefix("id = ")).map(str::to_owned).collect()
    };
    for _ in 0..2 {
        desk.done("demo --fast --plain --seed 7 --answers 1 --player Anna");
    }
    let first = ids();
    assert_eq!(first.len(), 1, "{first:?}");
    // Longer than any name is kept.
    let ben = format!("Ben-{}", "n".repeat(80));
    let (code, said) = desk.run(&format!("demo --fast --plain --seed 7 --answers 1 --player {ben}"));
    assert!(code == 0 && said.contains("is new here"), "{said}");
    desk.done(&format!("log --player {ben}"));
    assert_eq!((ids().len(), &ids()[0]), (2, &first[0]));
    let names: Vec<String> = read_sessions(&[desk.0.join("data/sessions")])
        .sessions
        .iter()
        .map(|stored| stored.session().unwrap().began.player.unwrap().name)
        .collect();
    assert_eq!(names.iter().filter(|name| *name == "Anna").count(), 2, "{names:?}");
}
