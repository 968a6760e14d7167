//! Free choruses: `trade --free` with the simulated player through the ear, the record of it, and `analyse` on that record. What was
//! planted: a line of the player's own in the third bar of every four, from beat 2 on (`trade/improvised.rs`).

use earfirst::outside::coach::LearnerModel;
use earfirst::outside::files::read_sessions;
use earfirst::outside::session::{Event, Session, replay, write_line};
use serde_json::Value;

use crate::desk::Desk;

fn record(desk: &Desk) -> (String, Session, bool) {
    let stored = read_sessions(&[desk.0.join("data/sessions")]).sessions.pop().unwrap();
    let name = stored.path.strip_prefix(&desk.0).unwrap().display().to_string();
    (name, stored.session().unwrap(), replay(&stored.events) == LearnerModel::new())
}

fn told(desk: &Desk, line: &str) -> Value {
    serde_json::from_str(&desk.done(line)).unwrap()
}

#[test]
fn a_free_chorus_is_kept_unjudged_and_told_at_its_end_and_later_in_the_same_words() {
    let desk = Desk::new("free-told");
    let said = desk
        .done("trade blues --free --concert --instrument flute --tempo 160 --choruses 2 --seed 3 --simulated --fast");
    for word in ["two free choruses", "nothing judged", "Chorus 1 in C:", "Over the form, bar 1 at 0.00 s", "is over"] {
        assert!(said.contains(word), "{word} in {said}");
    }
    for word in ["right", "wrong", "missed", "asked again", " late"] {
        assert!(!said.contains(word), "nothing is judged, but \"{word}\" stands in {said}");
    }
    let narrow = |line: &str| line.chars().count() <= 80 || line.contains("/sessions/");
    assert!(said.lines().all(narrow), "{said}");
    let (file, session, nothing_learnt) = record(&desk);
    assert_eq!((session.trials.len(), session.traded.len(), session.choruses.len()), (0, 0, 2));
    assert!(nothing_learnt && session.sounding().0 > 10.0 && session.until.0 > 30.0, "its minutes count");
    // Twelve bars of four quarters at 160 last 18 s, and no rest lies between choruses on a flute.
    for (n, chorus) in session.choruses.iter().enumerate() {
        assert_eq!(chorus.chorus as usize, n + 1);
        assert!(((chorus.ends - chorus.begins).0 - 18.0).abs() < 0.01, "{:?}", chorus.ends - chorus.begins);
        let inside = |at: f64| (chorus.begins.0 - 1.5..chorus.ends.0 + 0.5).contains(&at);
        assert!(chorus.heard.len() > 25 && chorus.heard.iter().all(|note| inside(note.onset.0)));
    }
    assert!((session.choruses[1].begins - session.choruses[0].ends).0.abs() < 0.01);
    // What was told at the end is told again from the record.
    let again = desk.done(&format!("analyse {file} --concert"));
    let from = again.find("chorus 1 in C of blues").unwrap();
    assert!(said.contains(again[from..].trim()), "{again}\nis not in\n{said}");
    let counted = desk.done("review data/sessions").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(counted.contains("2 free choruses over blues at quarter = 160"), "{counted}");
    assert!(desk.done("log").contains("1 sitting"));
}

#[test]
fn the_players_own_line_is_found_where_it_was_planted_in_the_bars_of_the_form() {
    let desk = Desk::new("free-planted");
    let (mut there, mut all) = (0, 0);
    for (seed, chart, tempo, choruses) in [(5, "blues", 132.0, 2), (6, "rhythm-changes", 180.0, 1)] {
        let line =
            format!("trade {chart} --free --instrument alto-sax --tempo {tempo} --choruses {choruses} --seed {seed}");
        desk.done(&format!("{line} --simulated --fast"));
        let told = told(&desk, "analyse data/sessions --json");
        assert_eq!(told["chart"], chart, "of a folder the latest sitting is told");
        for chorus in told["choruses"].as_array().unwrap() {
            assert_eq!(chorus["over"]["bar_1_s"], 0.0);
            let beat = |note: u64| chorus["notes"][note as usize]["onset_s"].as_f64().unwrap() * tempo / 60.0;
            let habits = chorus["habits"].as_array().unwrap();
            let places = habits.iter().flat_map(|habit| habit["first"].as_array().unwrap());
            for first in places.filter_map(Value::as_u64) {
                all += 1;
                // Beat 2 of the third bar of four, or the second note of the line half a beat later.
                let inside = beat(first).rem_euclid(16.0);
                there += usize::from((8.6..10.4).contains(&inside));
            }
        }
    }
    assert!(all >= 8, "a habit comes in every chorus: {all} places");
    assert!(there * 10 >= all * 8, "{there} of {all} places where it was planted");
}

#[test]
fn lips_rest_between_choruses_and_each_key_has_its_chords() {
    let desk = Desk::new("free-lips");
    let said = desk.done(
        "trade ii-v-i --free --moves fourths --instrument trumpet --tempo 240 --choruses 2 --seed 4 --simulated --fast",
    );
    assert!(said.contains("rest, the band plays on alone"), "{said}");
    let (file, session, _) = record(&desk);
    let keys: Vec<&str> = session.choruses.iter().map(|chorus| chorus.key.name()).collect();
    // On the page of a Bb trumpet C and F: a whole step lower as they sound (common practice).
    assert_eq!(keys, ["Bb", "Eb"]);
    let second = desk.done(&format!("analyse {file} --chorus 2"));
    assert!(second.contains("chorus 2 in F of ii-v-i") && !second.contains("chorus 1 in"), "{second}");
    assert!(second.contains("Gm7") && second.contains("C7"), "ii and V of F: {second}");
}

#[test]
fn a_score_is_written_of_one_chorus_with_the_chords_of_its_form() {
    let desk = Desk::new("free-score");
    desk.done("trade blues --free --instrument flute --tempo 200 --choruses 2 --seed 8 --simulated --fast");
    let (file, ..) = record(&desk);
    let (code, said) = desk.run(&format!("analyse {file} --musicxml out.musicxml"));
    assert!(code == 2 && said.contains("--chorus 1") && said.contains("two free choruses"), "{said}");
    let (code, said) = desk.run(&format!("analyse {file} --chorus 7"));
    assert!(code == 2 && said.contains("no free chorus 7"), "{said}");
    let (code, said) = desk.run(&format!("analyse {file} --chart blues --tempo 200"));
    assert!(code == 2 && said.contains("a sitting knows its chart"), "{said}");
    desk.done(&format!("analyse {file} --chorus 1 --musicxml out.musicxml"));
    let score = std::fs::read_to_string(desk.0.join("out.musicxml")).unwrap();
    assert!(score.contains("<harmony") && score.matches("<note").count() > 20, "{score}");
}

#[test]
fn a_sitting_without_a_free_chorus_says_how_to_play_one() {
    let desk = Desk::new("free-none");
    desk.done("trade ii-v-i --instrument flute --up-to 3 --choruses 1 --tempo 280 --simulated --fast");
    let (file, ..) = record(&desk);
    let (code, said) = desk.run(&format!("analyse {file}"));
    assert!(code == 4 && said.contains("no free chorus is in it") && said.contains("--free"), "{said}");
    let (code, said) = desk.run("trade blues --free --on-every V --simulated --fast");
    assert!(code == 2 && said.contains("--on-every"), "{said}");
}

#[test]
fn a_page_shows_every_bar_of_the_chorus_and_tells_the_families_apart_without_colour() {
    let desk = Desk::new("free-page");
    desk.done("trade blues --free --instrument flute --tempo 200 --choruses 1 --seed 8 --simulated --fast");
    let (file, ..) = record(&desk);
    let (code, _) = desk.run(&format!("analyse {file} --html out.html --json"));
    assert_eq!(code, 2, "a page or JSON, not both");
    for made in [format!("analyse {file} --html out.html"), format!("review {file} --html out.html")] {
        desk.done(&made);
        let html = std::fs::read_to_string(desk.0.join("out.html")).unwrap();
        let all: Vec<&str> = html.split("<svg class=\"stretch\"").skip(1).collect();
        assert_eq!(all.len(), 6, "twelve bars, two by two: {made}");
        assert_eq!(html.matches("<svg").count(), html.matches("</svg>").count());
        for (n, stretch) in all.iter().enumerate() {
            let (bar, svg) = (2 * n + 1, stretch.split("</svg>").next().unwrap());
            assert!(svg.contains(&format!("aria-label=\"Bars {bar} to {}: ", bar + 1)), "{svg}");
            assert_eq!(svg.matches("class=\"chord\"").count(), 2, "a chord in each bar: {svg}");
        }
        // A sign and a stroke of its own for each family: what the style says of colour is not needed.
        let told: Value = told(&desk, &format!("analyse {file} --json"));
        let parts = told["choruses"][0]["parts"].as_array().unwrap().clone();
        for (family, class, sign) in
            [("stepwise", "steps", "<circle class=\"steps\""), ("half_steps", "half-steps", "5.4z\"")]
        {
            let there = parts.iter().any(|part| part["family"] == family);
            let drawn = html.split("class=\"bars\"").nth(1).unwrap();
            assert_eq!(drawn.contains(&format!("move {class}")), there, "{family} in {made}");
            assert_eq!(drawn.contains(sign), there, "{family} in {made}");
        }
        assert!(html.contains("stroke-dasharray: 7 4") && html.contains("stroke-dasharray: .1"), "strokes differ");
        for word in ["<script", "http:", "https:", "--learn", "--concert"] {
            assert!(!html.contains(word), "{word} in {made}");
        }
    }
}

#[test]
fn a_place_over_a_form_is_told_by_bar_and_beat() {
    let desk = Desk::new("free-places");
    desk.done("trade blues --free --instrument alto-sax --tempo 160 --choruses 2 --seed 5 --simulated --fast");
    let (file, ..) = record(&desk);
    // The line of the player's own is planted in the third bar of every four.
    let said = desk.done(&format!("analyse {file}")).split_whitespace().collect::<Vec<_>>().join(" ");
    for place in ["in bar 3 on", "in bar 7 on", "in bar 11 on", "in chorus 1, bar 3 on", "in chorus 2, bar 11 on"] {
        assert!(said.contains(place), "{place} in {said}");
    }
    assert!(!said.contains("together, counted in seconds"), "{said}");
}

/// Makes the sittings of the simulated player those of a person, as a person would have played them.
fn as_a_persons_own(desk: &Desk, change: impl Fn(&mut Event)) {
    for (n, stored) in read_sessions(&[desk.0.join("data/sessions")]).sessions.into_iter().enumerate() {
        let mut events = stored.events;
        events.iter_mut().for_each(&change);
        let lines: String = events.iter().map(write_line).collect();
        std::fs::remove_file(&stored.path).unwrap();
        let name = format!("data/sessions/{}-{n}.jsonl", stored.path.file_stem().unwrap().display());
        desk.file(&name, lines.replacen("\"simulated\":true", "\"simulated\":false", 1).as_bytes());
    }
}

#[test]
fn what_is_drilled_is_said_with_the_keys_in_which_it_comes_out_and_what_never_does_comes_into_phrases() {
    let desk = Desk::new("free-drilled");
    let drill = "demo 1-2-3-5-3-2-1-arch --fast --plain --seed 4 --answers 6 --goal 60 --tempo 60";
    desk.done(&format!("{drill} --instrument alto-sax"));
    as_a_persons_own(&desk, |_| ());
    desk.done("trade blues --free --instrument alto-sax --tempo 160 --choruses 2 --seed 5 --simulated --fast");
    as_a_persons_own(&desk, |_| ());
    let words = |line: &str| desk.done(line).split_whitespace().collect::<Vec<_>>().join(" ");
    let review = words("review data/sessions");
    let said = "1-2-3-5-3-2-1 arch: drilled since";
    assert!(review.contains(said) && review.contains("came out in one of two free choruses, in G."), "{review}");
    let log = words("log");
    assert!(log.contains(said) && log.contains("came out in one of two free choruses, in G."), "{log}");
    let json = told(&desk, "review data/sessions --json");
    // As they sound: a major sixth below the page of an alto saxophone (common practice).
    let keys: Vec<&str> = json["parts"][0]["in_use"]["free"][0]["keys"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|key| key["concert_key"].as_str())
        .collect();
    assert_eq!(keys, ["Bb"]);
    desk.done("review data/sessions --html out.html");
    let html = std::fs::read_to_string(desk.0.join("out.html")).unwrap();
    assert!(html.contains("came out in one of two free choruses"), "the page says it too");
    let show = "trade blues --instrument alto-sax --choruses 3 --seed 3 --show --up-to 2";
    assert!(!words(show).contains("It begins with a pattern that holds"), "what comes out needs no push");
    // The same choruses, three times over, had the pattern held in four keys and never come.
    let never = |event: &mut Event| {
        if let Event::FreeChorus(chorus) = event {
            chorus.drilled.iter_mut().for_each(|it| (it.held, it.keys) = (4, Vec::new()));
            let again = std::iter::repeat_n(chorus.drilled[0].clone(), 2);
            chorus.drilled = again.collect();
        }
    };
    as_a_persons_own(&desk, never);
    let shown = words(show);
    let why = "It begins with a pattern that holds in four keys and came in none of four free choruses, so it comes into \
               phrases. (1-2-3-5-3-2-1 arch)";
    assert!(shown.contains(why), "{shown}");
}
