//! A note that could not be heard is no fault of the player. An answer in another key does not count in the key that was asked.

use earfirst::outside::cue::{Cue, Form};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::room::SoundFault;
use earfirst::outside::session::Event;

use crate::rehearsal::{Rehearsal, faithful, settings};

const ALL: [ConcertKey; 12] = ConcertKey::FIFTHS;
const PATTERN: &str = "five-note-row-up-and-down";

fn judged(room: &Rehearsal) -> usize {
    room.events.iter().filter(|event| matches!(event, Event::Judged(_))).count()
}

#[test]
fn a_microphone_that_goes_dead_within_an_answer_costs_the_player_nothing() {
    for twice in [false, true] {
        let mut whole = faithful(0.5);
        let player = Box::new(move |cue: &Cue, end, beat| {
            let mut notes = whole(cue, end, beat);
            notes.truncate(if twice || cue.number == 1 { 4 } else { 9 });
            notes
        });
        let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), player);
        room.run_until(|room| room.cues.len() == 1);
        room.trouble(Some(SoundFault::Gate));
        room.run_until(|room| room.cues.len() == 2);
        assert!(room.cues[1].1.repeat && judged(&room) == 0, "nothing is said of notes that may have been swallowed");
        room.run_until(|room| judged(room) == 1);
        let Some(Event::Judged(judged)) = room.events.iter().rfind(|event| matches!(event, Event::Judged(_))) else {
            panic!("judged")
        };
        assert_eq!(judged.verdict.whole(), !twice, "but nobody is asked for ever");
    }
}

#[test]
fn the_right_shape_in_another_key_is_not_right_in_this_one() {
    let mut whole = faithful(0.5);
    let a_half_step_up = Box::new(move |cue: &Cue, end, beat| {
        whole(cue, end, beat).into_iter().map(|(onset, length, pitch)| (onset, length, pitch + 1.0)).collect()
    });
    let mut room = Rehearsal::new(settings(PATTERN, Form::FirstNote, &ALL), a_half_step_up);
    room.run_until(|room| judged(room) == 1);
    let asked = room.cues[0].1.key;
    let right = |room: &Rehearsal| room.snapshot().keys.iter().find(|row| row.key == asked).and_then(|row| row.right);
    room.run_until(|room| right(room).is_some());
    assert_eq!(right(&room), Some((0, 9)));
}
