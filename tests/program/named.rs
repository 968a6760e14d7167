//! A fault that comes back is named once, as soon as it has come often enough. The sentence that names it can be made again from the
//! record.

use earfirst::outside::cue::Form;
use earfirst::outside::music::{WrittenKey, instrument};
use earfirst::outside::report::recheck;
use earfirst::outside::session::{Event, Judgement, Session};

use crate::rehearsal::{Player, Rehearsal, faithful, settings};

/// A sitting in written C F G D, in which the note at `place` is `off` half steps off.
fn sitting(place: usize, off: f64, answers: u32) -> Rehearsal {
    let trumpet = instrument("trumpet").unwrap();
    let keys = ["C", "F", "G", "D"].map(|key| trumpet.concert_key(WrittenKey::parse(key).unwrap()));
    let mut whole = faithful(0.5);
    let player: Player = Box::new(move |cue, end, beat| {
        let mut notes = whole(cue, end, beat);
        notes[place].2 += off;
        notes
    });
    let mut room = Rehearsal::new(settings("five-note-row-up-and-down", Form::FirstNote, &keys), player);
    room.run_until(|room| room.shown.last().is_some_and(|(_, shown)| shown.answers >= answers));
    room
}

fn judged(room: &Rehearsal) -> Vec<&Judgement> {
    let judged = room.events.iter().filter_map(|event| if let Event::Judged(it) = event { Some(it) } else { None });
    judged.collect()
}

/// The faults that were named, each with the number of the cue to whose answer it was told.
fn named(room: &Rehearsal) -> Vec<(u32, String)> {
    let mut named: Vec<(u32, String)> = Vec::new();
    for judged in room.shown.iter().filter_map(|(_, shown)| shown.judged.as_ref()) {
        if let Some(fault) = judged.recurring.clone().filter(|_| named.iter().all(|(cue, _)| *cue != judged.cue.number))
        {
            named.push((judged.cue.number, fault));
        }
    }
    named
}

#[test]
fn a_third_that_is_sharp_in_every_key_is_named_once_and_then_left_in_peace() {
    let room = sitting(2, 0.36, 14);
    let [(when, fault)] = &named(&room)[..] else { panic!("named once: {:?}", named(&room)) };
    assert_eq!(fault, "The third note was sharp in all three keys.");
    let judged = judged(&room);
    assert!(judged.len() >= 14 && judged.iter().any(|it| it.cue > when + 3), "it goes on after that");
    for it in judged {
        let told = it.sentence.contains("the third note, ") && it.sentence.contains(" cents sharp against the rest");
        assert_eq!(told, it.cue <= *when, "cue {}: {}", it.cue, it.sentence);
    }
}

#[test]
fn a_wrong_note_is_named_as_a_pattern_once_and_told_each_time() {
    let room = sitting(2, -1.0, 14);
    let faults: Vec<String> = named(&room).into_iter().map(|(_, fault)| fault).collect();
    assert_eq!(faults, ["The third note was a half step low in all three keys."]);
    assert!(judged(&room).iter().all(|it| it.sentence.contains(" was a half step low; ")));
}

#[test]
fn every_sentence_of_a_sitting_is_made_again_from_its_record() {
    for (place, off) in [(2, 0.36), (2, -1.0), (4, -0.33)] {
        let room = sitting(place, off, 14);
        assert_eq!(recheck(&Session::from_events(&room.events).unwrap()), []);
    }
}
