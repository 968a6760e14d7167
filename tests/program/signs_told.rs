//! By ear: which sign sounds after an answer and round a pause, and which long note steers.

use earfirst::outside::cue::{Form, SoundSign};
use earfirst::outside::drill::{Command, Face};
use earfirst::outside::room::{Side, SoundFault};
use earfirst::outside::session::PauseCause;
use earfirst::outside::tui::Plain;
use earfirst::outside::units::{Seconds, Tempo};

use crate::by_ear::by_ear;
use crate::rehearsal::{Player, Rehearsal, faithful, silent};
use crate::screens::look;

#[test]
fn an_answer_is_told_as_early_or_late_or_uneven_and_as_passed_where_its_tempo_cannot_rise() {
    let told = |player: Player, after: f64, first_tempo: f64| {
        let mut settings = by_ear(Form::Pattern);
        settings.plan.first_tempo = Tempo(first_tempo);
        let mut room = Rehearsal::new(settings, player);
        room.run_until(|room| room.signs.last().is_some_and(|(at, _)| *at > after));
        room.signs.last().unwrap().1.clone()
    };
    let ragged = || -> Player {
        let mut whole = faithful(0.0);
        Box::new(move |cue, end, beat| {
            let answer = whole(cue, end, beat).into_iter().enumerate();
            answer.map(|(n, (from, length, pitch))| (from + [0.0, 0.11, -0.08, 0.09][n % 4], length, pitch)).collect()
        })
    };
    assert_eq!(told(faithful(0.02), 0.0, 120.0), [SoundSign::Up]);
    assert_eq!(told(faithful(-0.09), 0.0, 120.0)[0], SoundSign::Early);
    assert_eq!(told(faithful(0.09), 0.0, 120.0)[0], SoundSign::Late);
    assert_eq!(told(ragged(), 0.0, 120.0)[0], SoundSign::Uneven);
    assert_eq!(told(faithful(0.02), 130.0, 160.0), [SoundSign::Passed], "at its goal, once the easy minutes are over");
    let another_line = || -> Player {
        let mut whole = faithful(0.02);
        Box::new(move |cue, end, beat| {
            let answer = whole(cue, end, beat).into_iter().enumerate();
            answer.map(|(n, (from, length, pitch))| (from, length, pitch + [1.0, -6.0, 3.0, -13.0][n % 4])).collect()
        })
    };
    assert_eq!(told(another_line(), 0.0, 120.0), [SoundSign::AnotherLine]);
}

#[test]
fn who_is_not_heard_is_told_so_by_a_sign_where_the_loudspeaker_is_sound_and_again_when_it_goes_on() {
    let told = |fault: SoundFault| {
        let mut room = after_an_answer();
        let before = room.signs.len();
        room.trouble(Some(fault));
        room.run(2.0);
        room.trouble(None);
        room.run(2.0);
        room.signs[before..].iter().flat_map(|(_, told)| told.clone()).collect::<Vec<_>>()
    };
    assert_eq!(told(SoundFault::Zeros), [SoundSign::Unheard, SoundSign::GoesOn]);
    assert_eq!(told(SoundFault::Unplugged), [SoundSign::Unheard, SoundSign::GoesOn]);
    assert_eq!(told(SoundFault::Lost(Side::Output)), [SoundSign::GoesOn], "nothing can sound");
}

#[test]
fn when_a_pause_is_over_a_sign_says_so_before_the_next_cue() {
    let mut soon = by_ear(Form::Pattern);
    soon.rests.spared.first = Some(Seconds(10.0));
    for settings in [soon, by_ear(Form::Pattern)] {
        let rests = settings.rests.spared.first == Some(Seconds(10.0));
        let mut room = Rehearsal::new(settings, if rests { faithful(0.02) } else { silent() });
        room.run_until(|room| matches!(room.face(), Face::Paused { .. }));
        let (asked, paused) = (room.cues.len(), room.signs.len());
        if !rests {
            room.command(Command::Pause);
        }
        room.run_until(|room| room.cues.len() > asked);
        let [(at, told)] = &room.signs[paused..] else { panic!("{:?}", room.signs) };
        assert_eq!(told, &[SoundSign::GoesOn]);
        assert!(room.cues[asked].0 > at + 0.7, "the cue comes after the sign: {at} {}", room.cues[asked].0);
    }
}

/// A sitting in which the first answer was given and its verdict was told.
fn after_an_answer() -> Rehearsal {
    let mut room = Rehearsal::new(by_ear(Form::Pattern), faithful(0.02));
    room.run_until(|room| !room.signs.is_empty());
    room
}

#[test]
fn a_note_held_after_an_answer_pauses_then_rests_then_ends_and_one_that_is_shorter_does_nothing() {
    let told = |room: &Rehearsal| room.signs.iter().skip(1).flat_map(|(_, told)| told.clone()).collect::<Vec<_>>();
    for (length, signs) in [
        (2.5, vec![]),
        (3.5, vec![SoundSign::Waits]),
        (7.0, vec![SoundSign::Waits, SoundSign::Rests]),
        (9.5, vec![SoundSign::Waits, SoundSign::Rests, SoundSign::Over]),
    ] {
        let mut room = after_an_answer();
        let now = room.now;
        room.play(now + 0.3, length, 58.0);
        room.run(length + 0.4);
        assert_eq!((told(&room), room.done), (signs, length > 9.0), "{length}");
    }
    let mut room = after_an_answer();
    let now = room.now;
    room.play(now + 0.3, 3.5, 58.0);
    room.run(6.0);
    assert!(
        matches!(room.face(), Face::Paused { cause: PauseCause::Asked, .. }),
        "the note that paused does not go on"
    );
    let now = room.now;
    room.play(now, 1.5, 58.0);
    room.run(1.3);
    assert!(!matches!(room.face(), Face::Paused { .. }), "another one does");
    // Who cannot see the screen does not know at once that it has gone on, and holds the note: that is no wish to pause again.
    let mut room = after_an_answer();
    let now = room.now;
    room.play(now + 0.3, 3.5, 58.0);
    room.run(6.0);
    let now = room.now;
    room.play(now, 9.5, 58.0);
    room.run(10.0);
    assert!(!room.done && !matches!(room.face(), Face::Paused { .. }), "{:?}", room.face());
}

#[test]
fn a_screen_reader_hears_that_a_pause_became_a_rest_and_that_it_goes_on() {
    let mut room = after_an_answer();
    room.play(room.now + 0.3, 7.0, 58.0);
    room.run(80.0);
    let mut plain = Plain::new(look(false));
    let mut lines = room.shown.iter().flat_map(|(_, snapshot)| plain.lines(snapshot));
    let in_order = ["paused: ", "let go of the instrument", "it goes on", "listen · "];
    assert!(in_order.iter().all(|said| lines.any(|line| line.starts_with(said))));
}
