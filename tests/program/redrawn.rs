//! A screen shows a change when it happens, not at the next second of its clock.

use earfirst::outside::cue::Form;
use earfirst::outside::drill::{Command, Input, Snapshot};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::room::SoundFault;
use earfirst::outside::session::Event;

use crate::rehearsal::{Player, Rehearsal, faithful, settings};

/// A player who plays what was asked, but every third cue a half step high.
fn wrong_at_times() -> Player {
    let mut whole = faithful(0.5);
    Box::new(move |cue, end, beat| {
        let up = if cue.number.is_multiple_of(3) { 1.0 } else { 0.0 };
        whole(cue, end, beat).into_iter().map(|(onset, length, pitch)| (onset, length, pitch + up)).collect()
    })
}

#[test]
fn no_part_of_a_screen_waits_for_the_clock() {
    let settings = settings("five-note-row-up-and-down", Form::Pattern, &ConcertKey::FIFTHS);
    let mut room = Rehearsal::new(settings, wrong_at_times());
    let mut compared = 0;
    for step in 0..30_000 {
        match step {
            9_000 => room.tell(Input::SoundFault(Some(SoundFault::Clipping))),
            10_000 => room.tell(Input::SoundFault(None)),
            12_000 | 12_500 => room.command(Command::Pause),
            _ => {}
        }
        room.run(0.01);
        let Some((_, shown)) = room.shown.last() else { continue };
        let now = room.drill.snapshot();
        // The clock moves once a second, and so does the time that the player has sounded.
        assert_eq!(now, Snapshot { at: now.at, sounding: now.sounding, ..shown.clone() }, "{:.2} s", room.now);
        compared += 1;
    }
    let judged = room.events.iter().filter(|event| matches!(event, Event::Judged(_))).count();
    assert!(compared > 20_000 && judged > 10, "{compared} {judged}");
}
