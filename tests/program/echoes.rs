//! What the listener makes of the program's own cue in the microphone, with players who are silent, early or prompt, before a loudspeaker
//! and with headphones.

use earfirst::outside::coach::{LearnerModel, Rng};
use earfirst::outside::cue::{Form, sound};
use earfirst::outside::drill::{CueSpan, Drill, Effect, Input};
use earfirst::outside::engine::{PlayerEar, rendering};
use earfirst::outside::music::ConcertKey;
use earfirst::outside::notes::EarSettings;
use earfirst::outside::room::{Echo, Presence};
use earfirst::outside::sound::{Placement, SoundBlock};
use earfirst::outside::units::{A440, Hertz, SampleRate, Seconds};

use crate::counted::{Count, count};
use crate::rehearsal::settings;
use crate::rooms::{self, Manner, Plan, Room};

const RATE: SampleRate = rooms::RATE;

/// The sittings of each kind; with `EARFIRST_LONGER` they have 300 cues together.
fn sittings() -> std::ops::Range<usize> {
    0..if std::env::var_os("EARFIRST_LONGER").is_some() { 25 } else { 5 }
}

fn counted(name: &str, manner: Manner, own: bool) -> Count {
    let count = count(sittings(), manner, own, false);
    println!("{name}: {count:?}");
    count
}

/// Whether `part` is at least `hundredths` per cent of `of`.
fn most(part: usize, of: usize, hundredths: usize) -> bool {
    part * 100 >= of * hundredths
}

#[test]
fn nothing_played_before_a_loudspeaker_is_hardly_ever_a_verdict() {
    let count = counted("silent", Manner::Silent, false);
    assert!(count.spoilt * 100 <= 3 * count.cues, "{count:?}");
}

#[test]
fn a_prompt_answer_before_a_loudspeaker_is_heard_when_it_began() {
    for own in [true, false] {
        let count = counted("prompt", Manner::Prompt, own);
        assert!(count.spoilt * 100 <= 4 * count.cues, "{count:?}");
        assert!(most(count.after[1], count.after[0], 98), "{count:?}");
        assert!(most(count.after[2], count.after[1], 95), "{count:?}");
    }
}

#[test]
fn an_answer_that_begins_in_the_cue_is_heard_before_a_loudspeaker() {
    for own in [true, false] {
        let count = counted("early", Manner::Early, own);
        assert!(count.spoilt * 100 <= 4 * count.cues, "{count:?}");
        assert!(most(count.after[1], count.after[0], 98), "{count:?}");
        assert!(most(count.during[1], count.during[0], if own { 65 } else { 80 }), "{count:?}");
    }
}

#[test]
fn a_player_with_headphones_is_heard_as_if_nothing_sounded() {
    for (manner, own) in [(Manner::Early, true), (Manner::Prompt, false), (Manner::Silent, false)] {
        let count = count(0..3, manner, own, true);
        assert_eq!((count.ours, count.beside), (0, 0), "{manner:?}: {count:?}");
        assert!(most(count.after[1], count.after[0], 98), "{manner:?}: {count:?}");
        assert!(most(count.during[1], count.during[0], 95), "{manner:?}: {count:?}");
    }
}

#[test]
fn headphones_and_a_loudspeaker_are_told_apart() {
    for (room, presence) in [(Room::Headphones, Presence::Absent), (Room::Decay(0.4), Presence::Heard)] {
        let plan = Plan { room, level: -8.0, ..Plan::of(3, Manner::Prompt, false) };
        let (listener, _) = rooms::listen(&rooms::made(&plan));
        assert_eq!(listener.echo().learned().presence, presence, "{room:?}");
    }
}

#[test]
fn a_cue_that_was_taken_for_the_player_at_first_does_not_sound_for_ever() {
    // The listener is told where a cue lies only after the cue began; here it is told so late (.3 s) that it has already told the drill of
    // the cue's note as of a note of the player's.
    const BLOCK: usize = 441;
    let ear = EarSettings { rate: RATE, lowest: Hertz(110.0), highest: Hertz(1500.0), a4: A440 };
    let wanted = settings("five-note-row-up-and-down", Form::FirstNote, &ConcertKey::FIFTHS);
    let mut drill = Drill::new(wanted, LearnerModel::new(), Rng::new(5));
    let mut ear = PlayerEar::new(ear, Echo::new(RATE));
    let (mut sounding, mut untold, mut cues) = (Vec::new().into_iter(), None, 0);
    for block in 0..2000 {
        let (at, now) = (RATE.seconds(block * BLOCK), RATE.seconds((block + 1) * BLOCK));
        let samples: Vec<f32> = (0..BLOCK).map(|_| sounding.next().unwrap_or(0.0)).collect();
        let mut effects = Vec::new();
        for heard in ear.hear(SoundBlock { at, rate: RATE, gap: Seconds(0.0) }, &samples, &mut |_| {}) {
            effects.extend(drill.step(Input::Heard(*heard)));
        }
        effects.extend(drill.step(Input::Now(now)));
        if let Some((number, sounded, from)) = untold.take_if(|(_, _, from)| now > *from + Seconds(0.3)) {
            ear.cue(&sounded, Placement::at(from));
            let beat_zero = sounded.beat_zero.map(|beat| from + beat);
            effects.extend(
                drill.step(Input::Sounding { cue: number, span: CueSpan { from, end: from + sounded.end, beat_zero } }),
            );
        }
        for effect in effects {
            if let Effect::Sound { cue, level } = effect {
                let sounded = sound(&cue, &rendering(&cue, RATE, A440, level));
                sounding = sounded.clip.samples.clone().into_iter();
                untold = Some((cue.number, sounded, now));
                cues += 1;
            }
        }
    }
    assert!(cues >= 2, "nothing was played, and the cue did not come once more: {cues}");
}
