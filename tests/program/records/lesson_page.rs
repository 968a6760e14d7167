//! The HTML page for the teacher, in a browser.

use earfirst::outside::report::{gather, sittings_to_text, to_html};
use earfirst::outside::session::{Event, Session};
use earfirst::outside::units::{Cents, Seconds};
use earfirst::outside::verdict::Reflex;

use crate::records::made;

/// A sitting for each of these days and reflex times: two cues in a trumpet's written D, with free answers.
fn days(reflexes: &[(i32, f64)], title: &str) -> Vec<Session> {
    let sitting = |(day, time): &(i32, f64)| {
        let began = earfirst::outside::session::Began { day: *day, ..made::began() };
        let mut events = vec![Event::Began(began)];
        for number in 1..=2 {
            let mut cue = made::cue(number);
            (cue.title, cue.key) = (title.to_owned(), earfirst::outside::music::ConcertKey::FIFTHS[0]);
            cue.line = made::three_notes(60);
            let at = Seconds(f64::from(number) * 10.0);
            events.push(Event::Cued { at, cue, reason: earfirst::outside::coach::Reason::Even });
            events.push(Event::Answered(made::answer(number)));
            let mut judgement = made::judgement(number);
            judgement.verdict.reflex = Some(Reflex { time: Seconds(*time), jumped: false, counted: true });
            events.push(Event::Judged(judgement));
        }
        Session::from_events(&events).unwrap()
    };
    reflexes.iter().map(sitting).collect()
}

#[test]
fn a_teacher_sees_a_key_at_first_and_at_last_and_the_weeks_between() {
    let page = gather(&days(&[(20_000, 2.0), (20_001, 1.8), (20_013, 1.0)], "Row")).remove(0);
    let table = &page.tables[0];
    let line = &table.lines[0];
    assert_eq!((line.first, line.last), (Some(2.0), Some(1.0)), "the first and the last third of three days");
    assert_eq!(line.days, [(20_000, 2.0), (20_001, 1.8), (20_013, 1.0)]);
    assert_eq!(line.answers, 6);
    assert!(page.facts.iter().any(|fact| fact == "longest time away: 12 days"), "{:?}", page.facts);
}

#[test]
fn the_page_loads_nothing_and_a_hostile_name_is_only_a_name() {
    let hostile = "<script>alert(1)</script>\"><img src=x onerror=alert(1)>";
    let html = to_html(&gather(&days(&[(20_000, 0.5)], hostile)));
    assert!(html.contains("&lt;script&gt;alert(1)&lt;/script&gt;"), "the name is there, as text");
    for word in ["<script", "<img", "http:", "https:", "<link", "<iframe", "javascript:"] {
        assert!(!html.contains(word), "{word}");
    }
    // Content Security Policy Level 3 (W3C): what is not allowed by name falls back to `default-src`.
    assert!(html.contains("default-src 'none'"));
}

#[test]
fn the_page_is_well_formed_and_says_its_pictures_in_words() {
    let html = to_html(&gather(&days(&[(20_000, 2.0), (20_013, 0.5)], "Row & more")));
    // HTML Living Standard 13.1.2: these elements have no end tag.
    let without_end = ["meta", "link", "br", "hr", "img", "input", "!DOCTYPE"];
    let mut open: Vec<String> = Vec::new();
    for tag in html.split('<').skip(1).map(|rest| rest.split('>').next().unwrap()) {
        let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap().to_owned();
        if tag.starts_with('/') {
            assert_eq!(open.pop().as_deref(), Some(name.as_str()), "</{name}>");
        } else if !without_end.contains(&name.as_str()) && !tag.ends_with('/') {
            open.push(name);
        }
    }
    assert_eq!(open, Vec::<String>::new());
    // A picture says in words what it shows, or stands beside words that do; a part of a picture has no class.
    let pictures: Vec<&str> = html.split("<svg class=").skip(1).map(|rest| rest.split('>').next().unwrap()).collect();
    let spoken = pictures.iter().filter(|tag| tag.contains("role=\"img\" aria-label=\"")).count();
    let beside_words = pictures.iter().filter(|tag| tag.contains("aria-hidden=\"true\"")).count();
    assert_eq!(spoken + beside_words, pictures.len(), "{pictures:?}");
    assert!(spoken >= 3, "the way, the days and the staff of one key: {pictures:?}");
    assert!(html.contains("Asked and played: "), "a staff says its notes");
}

#[test]
fn a_player_who_only_answers_in_tempo_is_shown_by_pace() {
    use earfirst::outside::verdict::TimeOrigin;
    let mut sessions = days(&[(20_000, 1.0), (20_002, 1.0)], "Row");
    for turn in sessions.iter_mut().flat_map(|session| &mut session.trials) {
        let answer = turn.answer.as_mut().unwrap();
        turn.judgement.as_mut().unwrap().verdict.pace = Some(earfirst::outside::units::Tempo(92.0));
        answer.clock = TimeOrigin::InTempo { cue_end: Seconds(1.0), beat_zero: Seconds(2.0) };
    }
    let page = gather(&sessions).remove(0);
    assert_eq!(page.tables.len(), 1);
    assert!(to_html(&[page]).contains("The keys by pace"));
    let text = sittings_to_text(&sessions);
    let wanted = "\nPace (quarter =), trumpet in Bb: at first, day by day (tall is fast), at last.\nD    92 ▁·▁  92    4 answers\n";
    assert!(text.contains(wanted) && !text.contains("Reflex time, "), "{text}");
}

#[test]
fn what_became_of_all_keys_stands_first_and_a_goal_that_is_reached_is_no_work() {
    let page = gather(&days(&[(20_000, 1.9), (20_060, 1.2), (20_080, 0.82)], "Row")).remove(0);
    assert!(page.sentence.starts_with("The middle key begins after 0.8 s, at first 1.9 s"), "{}", page.sentence);
    // The goal is .8 s.
    assert!(page.work_on.iter().all(|sentence| !sentence.starts_with("All keys")), "{:?}", page.work_on);
    let page = gather(&days(&[(20_000, 1.3)], "Row")).remove(0);
    assert!(!page.sentence.contains("at first"), "one day has no course: {}", page.sentence);
}

#[test]
fn whoever_jumped_the_cue_was_not_at_their_best() {
    let mut sessions = days(&[(20_000, 0.5)], "Row");
    assert_eq!(gather(&sessions)[0].best.len(), 1, "one a key");
    for turn in &mut sessions[0].trials {
        let reflex = turn.judgement.as_mut().unwrap().verdict.reflex.as_mut().unwrap();
        reflex.jumped = true;
    }
    assert_eq!(gather(&sessions)[0].best.len(), 0);
}

#[test]
fn a_note_that_is_flat_only_where_the_line_comes_down_to_it_is_told_so() {
    let mut sessions = days(&(20_000..20_008).map(|day| (day, 1.0)).collect::<Vec<_>>(), "Row");
    for session in &mut sessions {
        session.trials[1].cue.line.notes.reverse();
        for (turn, cents) in session.trials.iter_mut().zip([0.0, -30.0]) {
            turn.judgement.as_mut().unwrap().verdict.expected[1].cents = Some(Cents(cents));
        }
    }
    let page = gather(&sessions).remove(0);
    let wanted = "E4 lies -30 cents from the others where the line comes down to it, heard 16 times.";
    assert!(page.work_on.iter().any(|sentence| sentence.starts_with(wanted)), "{:?}", page.work_on);
}
