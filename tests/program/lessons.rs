//! A lesson there and back: written, practised, and named in the record.

use earfirst::outside::files::read_sessions;
use earfirst::outside::session::{Event, Session};

use crate::desk::Desk;

fn session(desk: &Desk) -> Session {
    let found = read_sessions(&[desk.0.join("data/sessions")]);
    assert_eq!((found.sessions.len(), found.failures.len()), (1, 0));
    found.sessions[0].session().unwrap()
}

#[test]
fn a_trial_asks_everything_once_in_an_order_that_the_seed_fixes() {
    let desk = Desk::new("trial");
    desk.done("lesson new major-triad-up --keys C,G,Eb --trial --tempo 100 --seed 5 --to trial.toml");
    let played = |desk: &Desk| -> Vec<String> {
        let said = desk.done("demo --lesson trial.toml --fast --plain --instrument trumpet");
        assert!(said.contains("each once, one try"), "{said}");
        let session = session(desk);
        let lesson = session.began.lesson.clone().unwrap();
        assert!(lesson.trial && lesson.name == "major-triad-up" && lesson.sha256.len() == 64);
        assert!(session.trials.iter().all(|trial| trial.cue.tempo.0 == 100.0 && !trial.cue.repeat));
        session.trials.iter().map(|trial| trial.cue.key.name().to_owned()).collect()
    };
    let first = played(&desk);
    let mut keys = first.clone();
    keys.sort();
    // A trumpet's C, G and Eb as they sound.
    assert_eq!(keys, ["Bb", "Db", "F"]);
    std::fs::remove_dir_all(desk.0.join("data")).unwrap();
    assert_eq!(played(&desk), first);
}

#[test]
fn a_pattern_that_the_player_lacks_travels_inside_the_lesson() {
    let teacher = Desk::new("teacher");
    std::fs::create_dir_all(teacher.0.join("data/patterns")).unwrap();
    let own = "[[pattern]]\nid = \"my-turn\"\nname = \"my turn\"\nfamily = \"stepwise\"\nlevel = 1\ntempo = [60, 120]\nnotes = \"1 2 1 2\"\n";
    teacher.file("data/patterns/own.toml", own.as_bytes());
    teacher.done("lesson new my-turn --keys C --minutes 1 --to turn.toml");
    let student = Desk::new("student");
    std::fs::copy(teacher.0.join("turn.toml"), student.0.join("turn.toml")).unwrap();
    student.done("demo --lesson turn.toml --fast --plain --answers 2 --instrument trumpet");
    let session = session(&student);
    assert!(session.trials.iter().all(|trial| trial.cue.pattern.0 == "my-turn"));
    let text = student.done("review data/sessions");
    assert!(text.contains("lesson \"my-turn\""), "{text}");
}

#[test]
fn a_lesson_that_cannot_be_opened_says_where_and_why() {
    let desk = Desk::new("lesson-wrong");
    desk.file("wrong.toml", b"lesson = 1\npatterns = [\"major-triad-up\"]\nkeys = [\"X\"]\ndays = 1\n");
    let (code, said) = desk.run("drill --lesson wrong.toml");
    assert_ne!(code, 0);
    assert!(said.contains("wrong.toml:3:9: no key is called X"), "{said}");
    desk.file("newer.toml", b"lesson = 2\n");
    let (_, said) = desk.run("lesson show newer.toml");
    assert!(said.contains("a newer one is needed"), "{said}");
    desk.file("miss.toml", b"lesson = 1\npatterns = [\"major-triad-upp\"]\ndays = 1\n");
    let (_, said) = desk.run("lesson show miss.toml");
    assert!(said.contains("miss.toml:2:13: no pattern of earfirst is called major-triad-upp"), "{said}");
    desk.file("chart.toml", b"lesson = 1\npatterns = [\"major-triad-up\"]\ndays = 1\ncharts = [\"bluez\"]\n");
    let (_, said) = desk.run("drill --lesson chart.toml");
    assert!(said.contains("chart.toml:4: ") && said.contains("bluez"), "{said}");
    // What a lesson says cannot be typed beside it.
    desk.file("good.toml", b"lesson = 1\npatterns = [\"major-triad-up\"]\ndays = 1\n");
    let (code, _) = desk.run("drill --lesson good.toml --keys C");
    assert_eq!(code, 2);
}

#[test]
fn a_word_back_is_told_before_the_next_drill_and_only_once() {
    let desk = Desk::new("word-back");
    let demo = "demo major-triad-up --fast --plain --answers 1 --player Anna";
    desk.done(demo);
    let file = std::fs::read_dir(desk.0.join("data/sessions")).unwrap().next().unwrap().unwrap().path();
    let told = desk.done(&format!("review {} --comment 0 Softer.", file.display()));
    assert!(told.contains("Softer."), "{told}");
    let found = read_sessions(&[file]);
    assert!(matches!(found.sessions[0].events.last(), Some(Event::Commented(it)) if it.text == "Softer."));
    let (code, said) = desk.run("drill major-triad-up --instrument trumpet --plain --player Anna --input nowhere");
    assert!(code != 0 && said.contains("Softer."), "told, but no sitting began: {said}");
    assert!(desk.done(demo).contains("Softer."), "so it is told before the next");
    assert!(!desk.done(demo).contains("Softer."), "and only once");
    assert_eq!(desk.done("review data/sessions").matches("Softer.").count(), 1);
}
