//! Up, stay, down: what an answer does to the tempo of its key; what the drill does where a key fails again and again; and what happens
//! where the player contests what the ear heard.

use earfirst::outside::coach::{ApartStage, Reason};
use earfirst::outside::cue::{Cue, Form};
use earfirst::outside::drill::{Command, Face};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::pattern::Register;
use earfirst::outside::report::{recheck, review, to_text};
use earfirst::outside::session::{Event, Session, read, replay, write_line};
use earfirst::outside::tui::Plain;
use earfirst::outside::units::Seconds;
use earfirst::outside::verdict::TempoStep;

use crate::rehearsal::{Player, Rehearsal, faithful, settings};
use crate::screens::{drawn, look};

const PATTERN: &str = "five-note-row-up-and-down";
const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;

/// A player who plays what was asked, but with as many notes a half step high, from the second on, as `count` says.
fn slips(count: impl Fn(&Cue) -> usize + 'static) -> Player {
    let mut whole = faithful(0.4);
    Box::new(move |cue, end, beat| {
        let (mut notes, wrong) = (whole(cue, end, beat), count(cue));
        notes.iter_mut().skip(1).take(wrong).for_each(|note| note.2 += 1.0);
        notes
    })
}

fn room(player: Player) -> Rehearsal {
    Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), player)
}

/// The review of a sitting, with its lines joined.
fn reviewed(session: Session) -> String {
    to_text(&review(&[session])).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Runs until the first final verdict is on the screen.
fn judged(room: &mut Rehearsal) {
    room.run_until(|room| {
        let shown = room.shown.last().map(|(_, snapshot)| snapshot);
        shown.is_some_and(|it| {
            matches!(it.face, Face::Verdict { settled: true, .. })
                && it.judged.as_ref().is_some_and(|judged| judged.moved.is_some())
        })
    });
}

#[test]
fn nine_of_nine_go_up_eight_stay_and_seven_go_slower_and_the_verdict_says_so() {
    for (wrong, step, told) in
        [(0, TempoStep::Up, "up to "), (1, TempoStep::Stay, "not yet: same tempo"), (2, TempoStep::Down, "slower: ")]
    {
        let mut room = room(slips(move |_| wrong));
        judged(&mut room);
        let snapshot = room.snapshot().clone();
        let judged = snapshot.judged.as_ref().unwrap();
        let moved = judged.moved.unwrap();
        assert_eq!(moved.step, step, "{wrong} wrong");
        assert_eq!(moved.next.0.total_cmp(&judged.cue.tempo.0), (step as i32 - 1).cmp(&0), "{wrong} wrong");
        let row = room.drill.learner().key_stats(&judged.cue.pattern, judged.cue.key);
        assert!((row.tempo().unwrap().0 - moved.next.0).abs() < 0.01 || snapshot.answers == 1, "what is said is done");
        let lines = Plain::new(look(false)).lines(&snapshot);
        assert!(lines.iter().any(|line| line.contains(told)), "{lines:?}");
        let screen = drawn(&snapshot, 80, 24, false).0.to_lowercase();
        assert!(screen.contains(told), "{screen}");
    }
}

#[test]
fn a_key_that_goes_down_three_times_is_taken_apart_once_and_nothing_of_it_counts() {
    let bad = ALL[5];
    let mut room = room(slips(move |cue| if cue.key == bad { 4 } else { 0 }));
    room.run_until(|room| room.cues.len() >= 150);
    let stages: Vec<(ConcertKey, Register, ApartStage)> = room
        .events
        .iter()
        .filter_map(|event| match event {
            Event::Cued { cue, reason: Reason::Apart { stage }, .. } if !cue.repeat => {
                Some((cue.key, cue.register, *stage))
            }
            _ => None,
        })
        .collect();
    let five = [ApartStage::Slower, ApartStage::FirstHalf, ApartStage::SecondHalf, ApartStage::Seam, ApartStage::Whole];
    assert_eq!(stages.iter().map(|(_, _, stage)| *stage).collect::<Vec<_>>(), five);
    assert!(stages.iter().all(|(key, register, _)| *key == bad && *register != Register::High), "{stages:?}");
    assert_eq!(&replay(&room.events), room.drill.learner(), "the coach knows nothing of it");
    let session = Session::from_events(&room.events).unwrap();
    assert_eq!(recheck(&session), [], "every sentence is made again from the record");
    assert!(reviewed(session).contains("more of a line taken apart"));
}

#[test]
fn whoever_wants_another_key_leaves_what_is_taken_apart() {
    let bad = ALL[5];
    let mut room = room(slips(move |cue| if cue.key == bad { 4 } else { 0 }));
    let apart = |room: &Rehearsal| room.snapshot().reason.is_some_and(|why| matches!(why, Reason::Apart { .. }));
    room.run_until(|room| !room.shown.is_empty() && apart(room));
    room.command(Command::Another);
    let cues = room.cues.len();
    room.run_until(|room| room.cues.len() >= cues + 4);
    assert!(!apart(&room) && room.cues[cues..].iter().all(|(_, cue, _)| cue.line.notes.len() == 9));
}

#[test]
fn an_answer_that_was_misheard_by_the_players_word_leaves_the_coach_and_stays_in_the_record() {
    let mut room = room(slips(|_| 4));
    judged(&mut room);
    room.command(Command::Misheard);
    assert!(room.snapshot().judged.as_ref().unwrap().contested, "told at once");
    room.command(Command::Misheard);
    let contested = |room: &Rehearsal| room.events.iter().filter(|e| matches!(e, Event::Contested { .. })).count();
    assert_eq!(contested(&room), 1, "once is enough");
    let judged = room.snapshot().judged.clone().unwrap();
    assert_eq!(room.drill.learner().key_stats(&judged.cue.pattern, judged.cue.key).answers(), 0);
    let screen = drawn(room.snapshot(), 80, 24, false).0;
    assert!(screen.contains("it does not count"), "{screen}");
    room.run(60.0);
    assert_eq!(&replay(&room.events), room.drill.learner());
    let file: String = room.events.iter().map(write_line).collect();
    let (events, damage) = read(file.as_bytes());
    assert_eq!((&events, damage), (&room.events, None));
    let session = Session::from_events(&events).unwrap();
    assert!(session.trials.iter().any(|turn| turn.contested && turn.judgement.is_some()));
    let text = reviewed(session);
    assert!(text.contains("1 misheard by your word and not counted"), "{text}");
}

#[test]
fn only_the_verdict_that_stands_can_be_contested() {
    let mut room = room(slips(|_| 4));
    judged(&mut room);
    let cues = room.cues.len();
    room.run_until(|room| room.cues.len() > cues);
    room.command(Command::Misheard);
    assert!(room.events.iter().all(|event| !matches!(event, Event::Contested { .. })), "another cue sounds");
}

#[test]
fn from_a_verdict_cue_and_answer_are_heard_again_and_it_is_told_at_once() {
    let mut room = room(slips(|_| 1));
    judged(&mut room);
    let (cues, now) = (room.cues.len(), room.now);
    let number = room.cues[cues - 1].1.number;
    room.command(Command::PlayBack);
    assert_eq!(room.played_back, [number]);
    assert!(room.snapshot().plays_back);
    let screen = drawn(room.snapshot(), 80, 24, false).0;
    assert!(screen.contains("the cue, then what came out"), "{screen}");
    room.run_until(|room| room.cues.len() > cues);
    // Nine eighths and a prompt tone last longer than the verdict alone would stand.
    assert!(room.now - now > 4.0, "{}", room.now - now);
    assert!(!room.snapshot().plays_back);
}

#[test]
fn whoever_plays_a_whole_step_low_in_every_key_is_asked_for_the_instrument() {
    let mut whole = faithful(0.4);
    let low: Player = Box::new(move |cue, end, beat| {
        whole(cue, end, beat).into_iter().map(|(onset, length, pitch)| (onset, length, pitch - 2.0)).collect()
    });
    let mut room = room(low);
    let told = |room: &Rehearsal| {
        room.shown.iter().find_map(|(at, snapshot)| {
            let fault = snapshot.judged.as_ref()?.recurring.clone()?;
            Some((Seconds(*at), fault))
        })
    };
    room.run_until(|room| told(room).is_some());
    let (_, fault) = told(&room).unwrap();
    assert!(
        fault.starts_with("You played a whole step low in all three keys. Is the instrument set right?"),
        "{fault}"
    );
}
