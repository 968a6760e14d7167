//! The review of a sitting, as a teacher reads it.

use arbtest::arbtest;
use earfirst::outside::coach::Reason;
use earfirst::outside::cue::Form;
use earfirst::outside::music::{Concert, ConcertKey, HalfSteps};
use earfirst::outside::report::{recheck, review, to_text};
use earfirst::outside::session::{Ended, Event, Judgement, PauseCause, Session};
use earfirst::outside::units::{Cents, Seconds, Tempo};
use earfirst::outside::verdict::{NoteLabel, Reflex, TempoStep};

use crate::records::made;

/// A sitting of twelve cues, by turns in two sounding keys: Bb and Eb, a trumpet's written C and F. In each key the reflex times are .4,
/// .5, .6 s and so on. The fourth answer of each key has no note that was heard; the last is not whole, and its reflex time does not
/// count. The general offset rises by a cent with each answer.
fn evening() -> Session {
    evening_with([1.0, 4.0, -6.0])
}

/// The same sitting, with the three notes (written C, D, E) these many cents off.
fn evening_with(off: [f64; 3]) -> Session {
    let mut events = vec![Event::Began(made::began())];
    for number in 1..=12u32 {
        let n = (number - 1) / 2;
        let mut cue = made::cue(number);
        cue.key = ConcertKey::FIFTHS[if number % 2 == 1 { 10 } else { 9 }];
        cue.line = made::three_notes(58);
        let at = Seconds(f64::from(number) * 60.0);
        let reason = if n == 0 { Reason::Opening { days: Some(3) } } else { Reason::Even };
        events.push(Event::Cued { at, cue, reason });
        let mut answer = made::answer(number);
        let mut judgement = Judgement { at, ..made::judgement(number) };
        let verdict = &mut judgement.verdict;
        verdict.reflex = Some(Reflex { time: Seconds(0.4 + 0.1 * f64::from(n)), jumped: false, counted: n != 5 });
        verdict.pace = Some(Tempo(100.0 + f64::from(n)));
        verdict.centre = Some(Cents(f64::from(number)));
        for (note, cents) in verdict.expected.iter_mut().zip(off) {
            note.cents = Some(Cents(cents));
        }
        if n == 5 {
            verdict.expected[1].label = NoteLabel::Wrong(HalfSteps(1));
            verdict.expected[1].cents = None;
            (verdict.right, judgement.step) = (2, Some(TempoStep::Stay));
            judgement.sentence = "Two of three: the second a half step high.".to_owned();
        }
        if n == 3 {
            answer.heard.clear();
        }
        events.push(Event::Answered(answer));
        events.push(Event::Judged(judgement));
    }
    events.push(Event::Paused { at: Seconds(730.0), cause: PauseCause::Rest });
    events.push(Event::Resumed { at: Seconds(850.0) });
    events.push(Event::Ended(Ended { at: Seconds(1260.0), sounding: Seconds(400.0), dropped: 0 }));
    Session::from_events(&events).unwrap()
}

/// A sitting of cues with these numbers, each in another key; the second note of every answer is a half step high.
fn second_note_high(numbers: std::ops::Range<u32>) -> Session {
    let mut events = vec![Event::Began(made::began())];
    for number in numbers {
        events.push(Event::Cued { at: made::answer(number).at, cue: made::cue(number), reason: Reason::Even });
        events.push(Event::Answered(made::answer(number)));
        let mut judgement = made::judgement(number);
        judgement.verdict.expected[1].label = NoteLabel::Wrong(HalfSteps(1));
        events.push(Event::Judged(judgement));
    }
    Session::from_events(&events).unwrap()
}

#[test]
fn a_fault_that_came_back_over_several_sittings_is_named() {
    let (one, other) = (second_note_high(1..3), second_note_high(3..5));
    assert!(review(std::slice::from_ref(&one)).parts[0].recurring.is_empty(), "two keys are no pattern");
    let text = to_text(&review(&[one, other]));
    let named = "First three notes up: The second note was a half step high in all four keys.";
    assert!(text.contains(&format!("Faults that came back\n  {named}\n")), "{text}");
}

#[test]
fn the_figures_are_those_a_teacher_would_count_by_hand() {
    let found = review(&[evening()]);
    let part = &found.parts[0];
    let sitting = &part.sittings[0];
    assert_eq!((sitting.cues, sitting.answered, sitting.whole), (12, 10, 8));
    assert_eq!((sitting.rests, sitting.resting), (1, Seconds(120.0)));
    let keys: Vec<_> = part.keys.iter().map(|row| row.key.name()).collect();
    assert_eq!(keys, ["Eb", "Bb"]);
    let row = &part.keys[1];
    assert_eq!((row.cues, row.answers, row.whole, row.right, row.of), (6, 5, 4, 14, 15));
    assert_eq!((row.first_tries, row.first_whole), (1, 1));
    // Played at 101.5 in the middle, but never asked for more than 96.
    assert_eq!((row.pace, row.reached), (Some(Tempo(101.5)), Some(Tempo(96.0))));
    // Counted: .4 .5 .6 .8 s; the silent one and the failed one are not.
    let reflex = row.reflexes[0];
    assert_eq!((row.reflexes.len(), reflex.form, reflex.count), (1, Form::FirstNote, 4));
    assert!((reflex.median.0 - 0.55).abs() < 1e-9 && (reflex.spread.0 - 0.1).abs() < 1e-9, "{reflex:?}");
    // Best: the same tempo, so the quickest reflex; the first of the two.
    assert_eq!(part.best.iter().map(|take| take.cue).collect::<Vec<_>>(), [1, 2, 3]);
    assert_eq!(part.worst.iter().map(|take| take.cue).collect::<Vec<_>>(), [12, 11]);
    assert_eq!(
        part.back.iter().map(|back| (back.key.name(), back.days, back.whole)).collect::<Vec<_>>(),
        [("Bb", 3, true), ("Eb", 3, true)]
    );
}

#[test]
fn intonation_is_told_per_note_with_its_direction_and_apart_from_the_general_tuning() {
    let found = review(&[evening()]);
    let part = &found.parts[0];
    let rows: Vec<_> = part.pitches.iter().map(|row| (row.pitch, row.times, row.up, row.down, row.all)).collect();
    // Ten answers; the middle note was wrong in two. The first note has no direction.
    assert_eq!(
        rows,
        [
            (Concert(58), 10, None, None, Cents(1.0)),
            (Concert(60), 8, Some(Cents(4.0)), None, Cents(4.0)),
            (Concert(62), 10, Some(Cents(-6.0)), None, Cents(-6.0)),
        ]
    );
    // A cent an answer, from the first to the twelfth.
    assert_eq!(part.sittings[0].offset, Some(Cents(5.5)));
    assert!((part.sittings[0].drift.unwrap().by.0 - 11.0).abs() < 1e-9);
}

#[test]
fn the_text_is_in_written_pitch() {
    let text = to_text(&review(&[evening()]));
    let told = |part: &str| assert!(text.contains(part), "no {part:?} in\n{text}");
    told("Trumpet in Bb (written pitch), the simulated player\n  2026-11-25 18:30");
    told("21 min, sounding 7 min, 1 rest of 2 min");
    told("C        6        5          4        1 of 1");
    told("F        6        5          4        1 of 1");
    told("0.55 (0.10)");
    told("0:00  F  First three notes up  Two of three: the second a half step high.");
    told("C  First three notes up  after 3 days: still there");
    told("general offset +6, rising by 11 cents from first to last, give or take 1");
    told("D4         8        +4           -");
    assert!(text.find("\nC ").unwrap() < text.find("\nF ").unwrap());
    assert!(!text.contains("\nBb "), "a trumpet's Bb is a written C:\n{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn times_that_hold_the_delay_of_the_devices_are_not_given_as_measured() {
    let mut session = evening();
    assert!(!to_text(&review(std::slice::from_ref(&session))).contains("Not calibrated"));
    session.began.delay = None;
    assert!(to_text(&review(&[session])).contains("Not calibrated: the delay of the devices is still in these times."));
}

#[test]
fn two_instruments_are_not_mixed_and_an_unknown_one_is_told_as_it_sounds() {
    let mut other = evening();
    other.began.instrument = "nose-flute".to_owned();
    let found = review(&[evening(), other, evening()]);
    assert_eq!(found.parts.iter().map(|part| part.sittings.len()).collect::<Vec<_>>(), [2, 1]);
    let text = to_text(&found);
    assert!(text.contains("Nose-flute (as it sounds)"), "{text}");
}

#[test]
fn a_teacher_never_finds_the_simulated_players_answers_among_the_students() {
    let mut own = evening();
    own.began.simulated = false;
    let found = review(&[evening(), own.clone(), own]);
    let told: Vec<(bool, usize)> = found.parts.iter().map(|part| (part.simulated, part.sittings.len())).collect();
    assert_eq!(told, [(true, 1), (false, 2)]);
    let text = to_text(&found);
    assert!(text.contains("Trumpet in Bb (written pitch), the simulated player\n"), "{text}");
    assert!(text.contains("Trumpet in Bb (written pitch), unnamed\n"), "{text}");
}

#[test]
fn whatever_was_recorded_the_page_holds_eighty_columns() {
    assert_eq!(to_text(&review(&[])), "Nothing was asked yet.\n");
    arbtest(|u| {
        let sessions: Vec<Session> = (0..u.int_in_range(1..=3)?)
            .map(|_| Ok(Session::from_events(&made::any_sitting(u)?).unwrap()))
            .collect::<Result<_, _>>()?;
        let text = to_text(&review(&sessions));
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        Ok(())
    })
    .budget_ms(1000);
}

#[test]
fn a_sentence_that_the_record_does_not_bear_out_is_found() {
    let mut session = evening();
    // The sentences of this sitting were made up, so every one of them is found; with those the record gives, none is.
    let found = recheck(&session);
    assert_eq!(found.len(), 12);
    for (turn, mismatch) in session.trials.iter_mut().zip(found) {
        assert!(mismatch.now.ends_with('.') && mismatch.now != mismatch.shown, "{mismatch:?}");
        turn.judgement.as_mut().unwrap().sentence = mismatch.now;
    }
    assert_eq!(recheck(&session), []);
    session.trials[2].judgement.as_mut().unwrap().sentence.push('!');
    assert_eq!(recheck(&session).iter().map(|mismatch| mismatch.cue).collect::<Vec<_>>(), [3]);
}

#[test]
fn what_the_horn_does_to_a_note_stands_below_the_table_of_intonation() {
    // By the arithmetic of valves, written D4 (first and third valve) and E4 (first and second) run sharp; C4, without a valve, is true.
    let told = |off: [f64; 3]| {
        let text = to_text(&review(&[evening_with(off)]));
        let hints = text.lines().filter(|line| line.starts_with("Written"));
        hints.map(|line| line.split(':').next().unwrap_or_default().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(told([1.0, 4.0, -6.0]), [""; 0]);
    assert_eq!(told([30.0, 30.0, 4.0]), ["Written D4"], "a sharp C is the player's own");
    assert_eq!(told([0.0, -30.0, 30.0]), ["Written E4"], "and so is a flat D");
}

#[test]
fn a_cue_during_which_the_player_stopped_was_not_left_silent() {
    let mut events = vec![Event::Began(made::began())];
    for number in 1..=3 {
        events.push(Event::Cued { at: Seconds(f64::from(number)), cue: made::cue(number), reason: Reason::Even });
        let mut answer = made::answer(number);
        match number {
            1 => events.extend([Event::Answered(answer), Event::Judged(made::judgement(1))]),
            2 => {
                answer.heard.clear();
                events.push(Event::Answered(answer));
            }
            _ => {}
        }
    }
    let text = to_text(&review(&[Session::from_events(&events).unwrap()]));
    assert!(text.replace("\n      ", " ").contains("3 cues, 1 answered, 1 all right, 1 left silent"), "{text}");
}

#[test]
fn a_key_that_comes_seconds_late_keeps_its_unit_on_the_page() {
    let mut events = vec![Event::Began(made::began())];
    events.push(Event::Cued { at: Seconds(1.0), cue: made::cue(1), reason: Reason::Even });
    let mut judgement = made::judgement(1);
    judgement.verdict.late = Some(Seconds(1.196));
    events.extend([Event::Answered(made::answer(1)), Event::Judged(judgement)]);
    let text = to_text(&review(&[Session::from_events(&events).unwrap()]));
    assert!(text.contains("  +1.2 s\n") && text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn an_answer_that_was_43_cents_flat_is_no_best_one() {
    let mut session = evening();
    // The first would be the best: the same tempo as all, and the quickest.
    assert_eq!(review(std::slice::from_ref(&session)).parts[0].best[0].cue, 1);
    session.trials[0].judgement.as_mut().unwrap().verdict.centre = Some(Cents(-43.0));
    assert_eq!(review(std::slice::from_ref(&session)).parts[0].best[0].cue, 2);
    session.trials[1].judgement.as_mut().unwrap().verdict.expected[2].cents = Some(Cents(-43.0));
    let best: Vec<u32> = review(&[session]).parts[0].best.iter().map(|take| take.cue).collect();
    assert!(!best.is_empty() && !best.contains(&1) && !best.contains(&2), "{best:?}");
}

#[test]
fn a_reflex_time_that_does_not_count_makes_no_answer_the_best() {
    let mut session = evening();
    let reflex = session.trials[0].judgement.as_mut().unwrap().verdict.reflex.as_mut().unwrap();
    // Some sound was lost during its cue.
    reflex.counted = false;
    assert_eq!(review(&[session]).parts[0].best[0].cue, 2);
}

#[test]
fn what_stands_in_the_table_adds_up_and_says_where_it_does_not() {
    let mut events = vec![Event::Began(made::began())];
    for number in 1..=4 {
        events.push(Event::Cued { at: Seconds(f64::from(number)), cue: made::cue(number), reason: Reason::Even });
        let (answer, mut judgement) = (made::answer(number), made::judgement(number));
        judgement.verdict.related = number != 2;
        match number {
            1 | 2 => events.extend([Event::Answered(answer), Event::Judged(judgement)]),
            // Answered, and ended before the verdict; then asked, and ended before an answer.
            3 => events.push(Event::Answered(answer)),
            _ => {}
        }
    }
    let found = review(&[Session::from_events(&events).unwrap()]);
    let row = &found.parts[0].sittings[0];
    assert_eq!((row.cues, row.answered, row.something_else, row.silent, row.unjudged), (4, 3, 1, 0, 2));
    let text = to_text(&found).replace("\n      ", " ");
    assert!(text.contains("2 broken off without a verdict, 1 not the line that was asked, so not scored"), "{text}");
    assert!(text.contains("Cues: also those left silent, broken off, or answered with another line."), "{text}");
    assert!(text.contains("Where you stood still before a note, that wait is not in the pace."), "{text}");
}
