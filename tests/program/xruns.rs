//! Sound that runs dry during a sitting: no reflex time counts then, and the devices are opened anew.

use earfirst::outside::cue::Form;
use earfirst::outside::drill::Face;
use earfirst::outside::music::ConcertKey;
use earfirst::outside::room::SoundFault;
use earfirst::outside::session::Event;
use earfirst::outside::verdict::Reflex;

use crate::rehearsal::{Rehearsal, faithful, settings};

/// A sitting on the trumpet in all keys, with a player who answers everything.
fn sitting() -> Rehearsal {
    Rehearsal::new(settings("five-note-row-up-and-down", Form::FirstNote, &ConcertKey::FIFTHS), faithful(0.5))
}

/// The reflex times of the answers so far.
fn reflexes(room: &Rehearsal) -> Vec<Reflex> {
    let of = |event: &Event| if let Event::Judged(judged) = event { judged.verdict.reflex } else { None };
    room.events.iter().filter_map(of).collect()
}

#[test]
fn a_reflex_time_across_an_xrun_does_not_count() {
    for xrun in [false, true] {
        let mut room = sitting();
        room.run_until(|room| room.cues.len() == 1);
        if xrun {
            room.note_xrun();
        }
        room.run_until(|room| room.cues.len() >= 3);
        let counted: Vec<bool> = reflexes(&room).iter().map(|reflex| reflex.counted).collect();
        assert_eq!(counted, [!xrun, true], "the next cue is measured again");
    }
}

#[test]
fn across_an_xrun_no_sentence_says_in_time() {
    let mut room =
        Rehearsal::new(settings("five-note-row-up-and-down", Form::Pattern, &ConcertKey::FIFTHS), faithful(0.02));
    room.run_until(|room| room.cues.len() == 1);
    room.note_xrun();
    room.run_until(|room| room.cues.len() >= 3);
    let sentences =
        |event: &Event| if let Event::Judged(judged) = event { Some(judged.sentence.clone()) } else { None };
    let sentences: Vec<String> = room.events.iter().filter_map(sentences).collect();
    assert_eq!(sentences, ["All nine right.", "All nine right and in time."]);
}

#[test]
fn sound_with_an_xrun_in_cue_after_cue_is_opened_anew_between_two_cues_and_the_drill_goes_on_by_itself() {
    let mut room = sitting();
    for cues in 1..=2 {
        assert_eq!(room.renewed, 0, "once may be an accident");
        room.run_until(|room| room.cues.len() == cues);
        room.note_xrun();
    }
    room.run_until(|room| reflexes(room).len() == 2);
    room.run(1.4);
    assert_eq!(room.renewed, 0, "the verdict stands as long as any");
    room.run_until(|room| room.renewed == 1);
    assert_eq!(
        (reflexes(&room).len(), room.cues.len(), room.hushed),
        (2, 2, 0),
        "answers are judged, no cue is cut off"
    );
    room.trouble(Some(SoundFault::Xruns));
    room.run(1.0);
    assert!(matches!(room.face(), Face::Paused { .. }) && room.cues.len() == 2);
    room.trouble(None);
    room.run_until(|room| reflexes(room).len() == 3);
    assert!(reflexes(&room)[2].counted, "and reflex times count again");
}
