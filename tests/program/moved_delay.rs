//! A loudspeaker that sounds later than it did when it was calibrated: what a player is told of time.

use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::Form;
use earfirst::outside::drill::Drill;
use earfirst::outside::engine::{Listener, unattended};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::notes::EarSettings;
use earfirst::outside::room::Echo;
use earfirst::outside::session::Event;
use earfirst::outside::units::{A440, Hertz, Seconds};

use crate::noodling::Corner;
use crate::rehearsal::settings;
use crate::rooms::{self, Draw, Room};

/// How late each of six answers was said to be that were played on the beat as it was heard, milliseconds, where the loudspeaker sounds
/// later by so many than it was calibrated.
fn lateness(room: Room, late_ms: f64) -> Vec<f64> {
    let mut corner = Corner::new(room, Draw(71), false, Seconds(late_ms / 1000.0));
    let ear = EarSettings { rate: rooms::RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    let wanted = settings("five-note-row-up-and-down", Form::Pattern, &ConcertKey::FIFTHS);
    let drill = Drill::new(wanted, LearnerModel::new(), Rng::new(5));
    let mut told = Vec::new();
    let mut keep = |event: Event| {
        if let Event::Judged(judged) = event {
            told.extend(judged.verdict.late.map(|late| late.ms()));
        }
    };
    let mut listener = Listener::new(ear, Echo::new(rooms::RATE), &mut corner).timing_cues();
    unattended(drill, &mut listener, A440, 6, &mut keep);
    told
}

#[test]
fn a_loudspeaker_that_became_late_since_it_was_calibrated_makes_nobody_late_for_long() {
    for late in [-20.0, 25.0, 90.0] {
        let told = lateness(Room::Decay(0.4), late);
        println!("{late} ms: {told:.1?}");
        assert!((told[0] - late).abs() < 12.0, "the first answers have the change in them: {told:?}");
        assert!(told.len() > 4 && told[4..].iter().all(|ms| ms.abs() < 12.0), "{late} ms: {told:?}");
    }
}

#[test]
fn without_a_cue_in_the_microphone_or_a_change_the_times_stay_as_they_are() {
    for (room, late) in [(Room::Decay(0.7), 0.0), (Room::Headphones, 25.0)] {
        let told = lateness(room, late);
        println!("{room:?}: {told:.1?}");
        assert!(told.len() > 4 && told.iter().all(|ms| (ms - late).abs() < 12.0), "{room:?}: {told:?}");
    }
}
