//! From the review a player comes to the sound of one answer, and weeks are compared.

use earfirst::outside::files::{read_sessions, read_sound};
use earfirst::outside::report::{numbered_take, review, sittings_to_text, sittings_to_text_on};
use earfirst::outside::session::{Event, Session};
use earfirst::outside::units::Seconds;
use earfirst::outside::verdict::{Reflex, TimeOrigin};

use crate::desk::Desk;
use crate::records::made;

#[test]
fn the_number_before_an_answer_gives_its_sound_as_wav() {
    let desk = Desk::new("answer-wav");
    desk.done("demo --fast --plain --seed 7 --answers 8 --keep-sound all");
    let stored = read_sessions(&[desk.0.join("data/sessions")]).sessions.remove(0);
    let sessions = [stored.session().unwrap()];
    let found = review(&sessions);
    let text = desk.done("review data/sessions");
    let several = found.parts[0].best.len() + found.parts[0].worst.len();
    assert!(several > 1, "{text}");
    for number in 1..=several {
        let (take, sitting) = numbered_take(number, &found, &sessions).unwrap();
        assert_eq!(sitting, 0);
        let row = text.lines().find(|line| line.starts_with(&format!("  {number}  "))).unwrap();
        assert!(row.contains(&take.title), "{row}");
        desk.done(&format!("review data/sessions --wav {number} answer-{number}.wav"));
        let wav = read_sound(&desk.0.join(format!("answer-{number}.wav"))).unwrap();
        let kept = stored.sound(take.sound.unwrap()).unwrap().unwrap();
        assert_eq!((wav.rate, wav.samples), (kept.rate, kept.samples));
    }
    for wrong in ["0", "99", "one"] {
        let (code, said) = desk.run(&format!("review data/sessions --wav {wrong} x.wav"));
        assert!(code == 2 && said.contains("number") && !desk.0.join("x.wav").exists(), "{said}");
    }
    desk.file("page.html", b"");
    desk.done("review data/sessions --html page.html");
    let page = std::fs::read_to_string(desk.0.join("page.html")).unwrap();
    assert!(page.contains("data:audio/flac;base64,") && page.len() < 3_000_000, "{} bytes", page.len());
}

/// A sitting of two free answers with this reflex time.
fn evening(day: i32, reflex: f64) -> Session {
    let began = earfirst::outside::session::Began { day, simulated: false, ..made::began() };
    let mut events = vec![Event::Began(began)];
    for number in 1..=2 {
        let mut cue = made::cue(number);
        cue.line = made::three_notes(60);
        events.push(Event::Cued {
            at: Seconds(f64::from(number) * 10.0),
            cue,
            reason: earfirst::outside::coach::Reason::Even,
        });
        let mut answer = made::answer(number);
        answer.clock = TimeOrigin::Free { cue_end: Seconds(1.0) };
        events.push(Event::Answered(answer));
        let mut judgement = made::judgement(number);
        judgement.verdict.reflex = Some(Reflex { time: Seconds(reflex), jumped: false, counted: true });
        events.push(Event::Judged(judgement));
    }
    Session::from_events(&events).unwrap()
}

#[test]
fn this_week_stands_against_the_last_one() {
    // By hand: the last sitting is on day 20 020, so this week is 20 014 to 20 020 and the one before 20 007 to 20 013.
    let sessions: Vec<Session> =
        [(20_000, 9.0), (20_007, 3.0), (20_013, 2.0), (20_014, 1.0), (20_020, 1.0), (20_020, 2.0)]
            .iter()
            .map(|(day, reflex)| evening(*day, *reflex))
            .collect();
    let [this, last] = review(&sessions).parts[0].weeks.clone().unwrap();
    assert_eq!((this.days, this.answers, last.days, last.answers), (2, 6, 2, 4));
    assert_eq!((this.reflex, last.reflex), (Some(Seconds(1.0)), Some(Seconds(2.5))));
    let text = sittings_to_text(&sessions).replace("\n    ", " ");
    assert!(
        text.contains("The seven days to 24 October 2024 (in brackets the seven before): 2 days with a sitting (2)"),
        "{text}"
    );
    assert!(text.contains("reflex time 1.0 s (2.5 s)"), "{text}");
    assert!(!text.contains("ago"), "a file alone knows no today: {text}");
    let read_on = |day| sittings_to_text_on(&sessions, Some(day)).contains("The last of these sittings was");
    assert_eq!([20_026, 20_027].map(read_on), [false, true], "from seven days on");
    let later = sittings_to_text_on(&sessions, Some(20_029));
    assert!(later.contains("\nThe last of these sittings was 9 days ago, on 24 October 2024.\n"), "{later}");
    assert!(review(&sessions[..2]).parts[0].weeks.is_some(), "seven days apart");
    assert_eq!(review(&sessions[..1]).parts[0].weeks, None, "nothing to stand against");
}

#[test]
fn what_to_work_on_stands_above_the_figures() {
    let text = sittings_to_text(&[evening(20_000, 4.0)]);
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].starts_with("Trumpet in Bb (written pitch)"), "{text}");
    assert!(lines[1].starts_with("  1. "), "{text}");
    assert!(text.contains("the goal is 0.8 s") && !text.contains(['♭', '♯']), "{text}");
}
