//! The command `trade`: phrases over a form are shown, written to files, and answered by the simulated player through the ear.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};

use earfirst::outside::coach::LearnerModel;
use earfirst::outside::files::read_sessions;
use earfirst::outside::session::{replay, write_line};

use crate::desk::Desk;

#[test]
fn a_seed_shows_the_same_phrases_again_with_their_patterns_seams_and_landing() {
    let desk = Desk::new("trade-shown");
    let shown = desk.done("trade ii-v-i --key C --concert --instrument flute --up-to 3 --seed 5 --show");
    for told in ["ii-V-I", "bars 1 to 4 in C", "over Dm7", "it lands on", "asked", "seed 5"] {
        assert!(shown.contains(told), "{told} in {shown}");
    }
    assert!(shown.lines().any(|line| line.contains("asked") && line.contains("> ")), "a seam is marked: {shown}");
    assert_eq!(desk.done("trade ii-v-i --key C --concert --instrument flute --up-to 3 --seed 5 --show"), shown);
    assert_ne!(desk.done("trade ii-v-i --key C --concert --instrument flute --up-to 3 --seed 6 --show"), shown);
}

#[test]
fn what_cannot_be_traded_says_how_to_mend_it() {
    let desk = Desk::new("trade-refused");
    for (line, told) in [
        ("trade no-such-form --show", "earfirst charts list"),
        ("trade blues --patterns no-such-pattern --show", "earfirst patterns list"),
        ("trade blues --patterns 1-2-3-5-cell-minor --show", "--up-to 3"),
        ("trade blues --patterns ii-v-i-1-2-3-5-on-each --show", "3 to 12 notes"),
        ("trade blues --on-every bII7 --show", "earfirst charts show"),
        ("trade blues --on-every H --show", "bVII7"),
        ("trade blues --tempo 20 --show", "40 to 300"),
        ("trade blues --choruses 60 --tempo 60 --show", "fewer --choruses"),
    ] {
        let (code, said) = desk.run(line);
        assert!(code == 2 && said.contains(told), "{line}: {said}");
    }
}

#[test]
fn band_and_phrases_are_written_and_every_four_bars_come_twice() {
    let desk = Desk::new("trade-written");
    let told =
        desk.done("trade blues --key C --concert --instrument piano --tempo 240 --choruses 1 --seed 2 --wav out.wav");
    // Two bars of lead-in, twenty-four of the form, one of the end: 108 beats of a quarter of a second.
    assert!(told.contains("27.0 s") && told.contains("three phrases"), "{told}");
}

#[test]
fn the_simulated_player_is_heard_and_judged_seam_by_seam() {
    let desk = Desk::new("trade-simulated");
    let told =
        desk.done("trade blues --instrument flute --tempo 140 --choruses 1 --seed 3 --up-to 2 --simulated --fast");
    for word in ["listen", "play", "chorus 1 in C", "asked", "played", "of three phrases all right", "is over"] {
        assert!(told.contains(word), "{word} in {told}");
    }
    // Before the answer stand bars and chords alone.
    let before: Vec<&str> = told.lines().take_while(|line| !line.starts_with("chorus")).collect();
    assert!(before.iter().all(|line| !line.contains("asked")), "{before:?}");
    let lips =
        desk.done("trade blues --instrument trumpet --tempo 240 --choruses 2 --seed 3 --up-to 2 --simulated --fast");
    assert!(lips.contains("rest, the band plays on alone"), "{lips}");
}

#[test]
fn a_lessons_charts_are_traded_one_after_the_other_recorded_and_counted() {
    let desk = Desk::new("trade-lesson");
    let lesson = "lesson = 1\nname = \"Week\"\npatterns = [\"major-triad-up\"]\ndays = 1\ncharts = [\"ii-v-i\", \"| Dm7 | G7 |\"]\n";
    desk.file("week.toml", lesson.as_bytes());
    let trade = "trade --lesson week.toml --instrument flute --up-to 3 --choruses 1 --tempo 280 --simulated --fast";
    let counted = |told: &str| {
        let class = desk.done("class data/sessions --lesson week.toml");
        let class = class.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(class.contains(told), "{told} in {class}");
    };
    desk.done(trade);
    counted("Lesson \"Week\": no key answered, traded over 1 of 2 charts (ii-v-i: 1 of 1 phrases answered,");
    desk.done(trade);
    counted("traded over 2 of 2 charts (ii-v-i: 1 of 1 phrases answered,");
    let found = read_sessions(&[desk.0.join("data/sessions")]);
    let mut charts = Vec::new();
    for stored in &found.sessions {
        let session = stored.session().unwrap();
        charts.push(session.began.trade.as_ref().unwrap().chart.clone());
        assert_eq!((session.trials.len(), session.traded.len()), (0, 1), "a phrase is no cue of a drill");
        let judged = session.traded[0].judgement.as_ref().unwrap();
        assert!(session.traded[0].answered() && judged.verdict.related && judged.sentence.starts_with("bar"));
        assert_eq!(session.began.lesson.as_ref().unwrap().charts, ["ii-v-i", "| Dm7 | G7 |"]);
        assert!(write_line(&stored.events[0]).contains("\"format\":3"), "an older program must not read on");
        let learnt = replay(&stored.events);
        assert_eq!(learnt.answered().count(), 0, "no key of a pattern learns from it");
        assert_ne!(learnt, LearnerModel::new(), "but what is in use is known");
    }
    charts.sort();
    assert_eq!(charts, ["ii-v-i", "| Dm7 | G7 |"]);
    let told = desk.done("review data/sessions").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("traded over ii-v-i at quarter = 280; 1 phrase, 1 answered"), "{told}");
    let (code, said) = desk.run("trade blues --lesson week.toml --show");
    assert!(code == 2 && said.contains("another chart"), "{said}");
}

#[test]
#[cfg(unix)]
fn a_chorus_that_is_broken_off_is_kept_up_to_there() {
    let desk = Desk::new("trade-broken-off");
    let line =
        "trade ii-v-i --bars 2 --instrument flute --up-to 2 --choruses 1 --tempo 300 --seed 4 --simulated --plain";
    let mut child = Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .args(line.split(' '))
        .env("EARFIRST_DATA", desk.0.join("data"))
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut told = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
    // The second answer is due: the first is over, and the chorus is not.
    let due: Vec<String> = told.by_ref().filter(|line| line.starts_with("play")).take(2).collect();
    assert_eq!(due.len(), 2);
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
    let rest: Vec<String> = told.collect();
    assert!(child.wait().unwrap().success(), "{rest:?}");
    let rest = rest.join("\n");
    assert!(rest.contains("chorus 1 in") && rest.contains("of one phrase all right"), "{rest}");
    let found = read_sessions(&[desk.0.join("data/sessions")]);
    let session = found.sessions[0].session().unwrap();
    assert!(session.ended.is_some() && session.traded[0].judgement.is_some(), "{:?}", session.traded);
    // Of the answer that was due there is what was heard of it until the signal came, and no verdict.
    assert!(session.traded[1..].iter().all(|trial| trial.answered() && trial.judgement.is_none()));
}

#[test]
fn what_broke_in_phrases_is_said_in_review_and_log_and_comes_back_for_that_reason() {
    let desk = Desk::new("trade-in-use");
    desk.done("trade blues --key B --concert --instrument flute --up-to 2 --choruses 2 --tempo 240 --seed 3 --simulated --fast");
    let found = read_sessions(&[desk.0.join("data/sessions")]);
    let events = &found.sessions[0].events;
    // The same sitting as a player's own, without the simulated one's.
    std::fs::remove_dir_all(desk.0.join("data/sessions")).unwrap();
    std::fs::create_dir_all(desk.0.join("data/sessions")).unwrap();
    let lines: String = events.iter().map(write_line).collect();
    desk.file("data/sessions/0000.jsonl", lines.replacen("\"simulated\":true", "\"simulated\":false", 1).as_bytes());
    let words = |line: &str| desk.done(line).split_whitespace().collect::<Vec<_>>().join(" ");
    for line in ["review data/sessions", "log"] {
        let told = words(line);
        for part in [
            "In use: in phrases over a form",
            "right over",
            "Joins: right on both sides and without a gap",
            "Phrases all right by key, of those answered: B",
        ] {
            assert!(told.contains(part), "{part} in {told}");
        }
    }
    // The teacher's page of a trade shows the phrases, and says nothing of answers that nobody was asked for.
    desk.done("review data/sessions --html page.html");
    let page = std::fs::read_to_string(desk.0.join("page.html")).unwrap();
    for part in ["In use: in phrases over a form", "right over", "Phrases all right by key", "phrases over a form, "] {
        assert!(page.contains(part), "{part} in {page}");
    }
    for part in ["Every answer was right", "0 answers", "At their best"] {
        assert!(!page.contains(part), "{part} in {page}");
    }
    let json = desk.done("review data/sessions --json");
    assert!(json.contains("\"in_use\":{") || json.contains("\"in_use\": {"), "{json}");
    let shown = words("trade blues --concert --instrument flute --up-to 2 --choruses 6 --seed 8 --show");
    assert!(
        shown.contains("B: phrases broke in two of the latest six tries, last today, so it comes first."),
        "{shown}"
    );
    assert!(shown.contains("bars 1 to 4 in B") && shown.contains("This join broke"), "{shown}");
    // A key that was asked for stays.
    let shown = words("trade blues --key C --concert --instrument flute --up-to 2 --choruses 1 --seed 8 --show");
    assert!(!shown.contains("phrases broke in") && shown.contains("bars 1 to 4 in C"), "{shown}");
}

#[test]
fn which_bars_of_which_chorus_went_wrong_stands_in_the_review_and_on_the_page_as_it_was_said() {
    let desk = Desk::new("trade-wrong");
    // Whoever plays under a new name becomes known, as in a drill.
    let trade = "trade blues --key B --concert --instrument flute --up-to 2 --choruses 2 --tempo 240 --seed 3";
    desk.done(&format!("{trade} --simulated --fast --player Cora"));
    let (code, said) = desk.run(&format!("{trade} --show --player Cara"));
    assert!(code == 2 && said.contains("Known here: Cora; whoever plays"), "{said}");
    let sessions = read_sessions(&[desk.0.join("data/sessions")]);
    let session = sessions.sessions[0].session().unwrap();
    let wrong: Vec<String> = (session.band.iter())
        .flat_map(|band| band.phrases.iter().map(|phrase| (band.chorus, phrase.cue)))
        .filter_map(|(chorus, cue)| {
            let trial = session.traded.iter().find(|trial| trial.cue.number == cue)?;
            let judgement = trial.judgement.as_ref().filter(|it| !it.verdict.whole())?;
            Some(format!("chorus {chorus}, {}", judgement.sentence))
        })
        .collect();
    assert!(!wrong.is_empty(), "the simulated player errs with this seed");
    desk.done("review data/sessions --html page.html --musicxml trade.musicxml");
    assert!(desk.0.join("trade.musicxml").exists());
    let page = std::fs::read_to_string(desk.0.join("page.html")).unwrap();
    let review = desk.done("review data/sessions");
    assert!(review.lines().all(|line| line.chars().count() <= 80), "{review}");
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [flat(&review), page.replace('♯', "#").replace('♭', "b")] {
        assert!(said.contains("Phrases that went wrong, the worst first"), "{said}");
        for sentence in &wrong {
            assert!(said.to_lowercase().contains(&flat(sentence).to_lowercase()), "{sentence} in {said}");
        }
        assert!(said.contains(" from bar 1 on"), "the place in the form: {said}");
    }
}

#[test]
fn a_phrase_is_finished_with_its_patterns_named_and_varied_by_a_rule_that_is_said() {
    let desk = Desk::new("trade-ways");
    let trade = "trade blues --key C --concert --instrument flute --up-to 2 --choruses 1 --tempo 240 --seed 3";
    let shown = desk.done(&format!("{trade} --finish --show"));
    assert!(
        shown.contains("sounded") && shown.contains("asked"),
        "the half that sounds and the half that is asked: {shown}"
    );
    let told = desk.done(&format!("{trade} --finish --simulated --fast"));
    let before: Vec<&str> = told.lines().take_while(|line| !line.starts_with("chorus")).collect();
    assert!(before.iter().any(|line| line.starts_with("finish")), "{before:?}");
    let named = before.iter().filter(|line| line.starts_with("        ")).count();
    assert!(named >= 3 && before.iter().all(|line| !line.contains("asked")), "patterns, and no notes: {before:?}");
    let told = desk.done(&format!("{trade} --vary --simulated --fast"));
    assert!(told.lines().any(|line| line.starts_with("vary")), "{told}");
    let words = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("Taken as a variation: the same") && words.contains("of three phrases varied"), "{words}");
    let review = desk.done("review data/sessions").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(review.contains(" varied"), "{review}");
    let sessions = read_sessions(&[desk.0.join("data/sessions")]);
    let varied = sessions.sessions.iter().map(|stored| stored.session().unwrap()).find(|it| {
        it.traded.iter().any(|trial| trial.judgement.as_ref().is_some_and(|judgement| judgement.varied.is_some()))
    });
    assert!(varied.is_some_and(|session| session.traded.iter().all(|trial| trial.cue.joined.is_empty())));
    let (code, said) = desk.run("trade blues --finish --vary --show");
    assert!(code == 2 && said.contains("cannot be used with"), "{said}");
}

#[test]
fn a_demo_over_a_chart_trades_with_the_simulated_player() {
    let desk = Desk::new("demo-chart");
    let told = desk.done("demo --chart ii-v-i --fast --plain --tempo 240 --seed 4 --instrument flute");
    for word in ["listen", "play", "chorus 1 in C", "asked", "played", "of one phrase all right", "is over"] {
        assert!(told.contains(word), "{word} in {told}");
    }
    let (code, said) = desk.run("demo --chart no-such-form --plain");
    assert!(code == 2 && said.contains("earfirst charts list"), "{said}");
}
