//! The HTML page for the teacher, in a browser.

use earfirst::outside::report::{gather, sittings_to_text, to_html};
use earfirst::outside::session::{Event, Session};
use earfirst::outside::units::{Cents, Seconds};
use earfirst::outside::verdict::Reflex;

use crate::records::class::{in_tempo, sitting};
use crate::records::made;
use crate::records::who::player;

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

/// Sittings of one player: on each day these answers in tempo.
fn practice(days: &[(i32, &[(u32, f64)])]) -> Vec<Session> {
    let whose = player(1, "Anna").unwrap();
    days.iter().map(|(day, answers)| Session::of(in_tempo(&whose, *day, answers)).unwrap()).collect()
}

#[test]
fn where_two_keys_of_twelve_are_played_lately_the_page_speaks_of_these_two_and_names_the_others() {
    let all: Vec<(u32, f64)> = (0..12).map(|place| (place, 90.0)).collect();
    let two = [(0, 60.0), (1, 60.0), (0, 120.0), (1, 120.0)];
    let page = gather(&practice(&[(20_779, &all), (20_780, &all), (20_782, &two), (20_784, &two)])).remove(0);
    assert!(!page.sentence.contains("not answered"), "two days without the others are chance: {}", page.sentence);
    let sessions = practice(&[(20_780, &all), (20_782, &two), (20_784, &two), (20_786, &two)]);
    let page = gather(&sessions).remove(0);
    // A trumpet's D and A sound C and G; day 20 780 is 23 November 2026 by GNU date.
    let wanted = "The middle of the two, D and A, played at first and at last, holds quarter = 90, at first quarter = 90; \
                  10 keys not answered since 23 November 2026; fastest at best: D (quarter = 120) and A (quarter = 120).";
    assert_eq!(page.sentence, wanted);
    let wanted = [
        "C, G, E, B, F♯, D♭, A♭, E♭, B♭ and F: no answer since 23 November 2026, on 3 days of practice or more; take \
         them up again.",
        "D and A: the middle of the two holds quarter = 120 at best, the goal is 126; the drill raises it where answers are all \
         right.",
    ];
    assert_eq!(page.work_on, wanted);
}

#[test]
fn the_slowest_key_is_the_one_whose_best_is_slowest_wherever_the_day_begins() {
    let mut day: Vec<(u32, f64)> = vec![(0, 60.0), (0, 60.0), (0, 60.0)];
    day.extend((0..12).map(|place| (place, if place == 5 { 90.0 } else { 120.0 })));
    let page = gather(&practice(&[(20_782, &day), (20_784, &day), (20_786, &day)])).remove(0);
    assert!(page.sentence.contains("; slowest at best: D♭ (quarter = 90)."), "{}", page.sentence);
    let wanted = "D♭: at best quarter = 90 on the latest three days, the middle key quarter = 120.";
    assert_eq!(page.work_on[0], wanted);
}

#[test]
fn keys_that_are_equally_unsure_are_all_named_and_where_they_are_many_none_is() {
    let whose = player(1, "Anna").unwrap();
    // Keys that failed on so many of the four days, and were right on the others.
    let page = |failed: &[usize]| {
        let day = |n: usize| {
            let key = |(place, failed): (u32, &usize)| (place, n < *failed);
            let answers: Vec<(u32, bool)> = (0..).zip(failed).map(key).collect();
            Session::of(sitting(&whose, 20_780 + n as i32, &answers, 20.0, true)).unwrap()
        };
        gather(&(0..4).map(day).collect::<Vec<_>>()).remove(0)
    };
    let two = page(&[1, 1, 0]);
    let wanted = "least sure at the first try of a day: D (3 of 4 right) and A (3 of 4 right).";
    assert!(two.sentence.ends_with(wanted), "{}", two.sentence);
    let wanted = "D and A: 3 of 4 first tries of a day were all right in each; begin a day with one of them.";
    assert!(two.work_on.iter().any(|sentence| sentence == wanted), "{:?}", two.work_on);
    let one = page(&[1, 2, 0]);
    assert!(one.sentence.ends_with("least sure at the first try of a day: A (2 of 4 right)."), "{}", one.sentence);
    let five = page(&[1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 0, 0]);
    assert!(!five.sentence.contains("least sure"), "{}", five.sentence);
}
