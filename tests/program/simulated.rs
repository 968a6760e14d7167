//! The sound of the simulated player, measured here without the program's ear and judge, and compared with what the player says it played.

use std::collections::BTreeMap;

use earfirst::outside::cue::{Form, Timing};
use earfirst::outside::music::{Concert, ConcertKey, Range};
use earfirst::outside::simulated::{
    AnswerClock, PlayedAs, PlayingFault, Profile, SimulatedPlayer, Skill, SoundedAnswer, Timbre,
};
use earfirst::outside::units::{A440, Cents, SampleRate, Seconds};
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::yin::YINDetector;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::asking::cue;

const RATE: SampleRate = SampleRate::CD;
const LINE: [i32; 8] = [60, 62, 64, 65, 67, 64, 62, 60];

fn player(seed: u64, timbre: Timbre, level: f64) -> SimulatedPlayer {
    faulty_player(seed, timbre, level, 0.12)
}

fn faulty_player(seed: u64, timbre: Timbre, level: f64, faulty: f64) -> SimulatedPlayer {
    let profile = Profile {
        timbre,
        range: Range::new(Concert(52), Concert(82)),
        skill: Skill::around(ConcertKey::FIFTHS[0], level),
        offset: Cents(6.0),
        faulty,
    };
    SimulatedPlayer::new(ChaCha8Rng::seed_from_u64(seed), profile)
}

fn answer(player: &mut SimulatedPlayer, timing: Timing, form: Form) -> SoundedAnswer {
    let clock = AnswerClock { cue_end: Seconds(10.0), beat_zero: Some(Seconds(10.6)) };
    player.answer(&cue(&LINE, 96.0, form, timing), clock, RATE, A440)
}

#[test]
fn the_same_seed_plays_the_same_samples() {
    let (mut one, mut two) = (player(4, Timbre::Reed, 0.7), player(4, Timbre::Reed, 0.7));
    let mut other = player(5, Timbre::Reed, 0.7);
    let first = answer(&mut one, Timing::Free, Form::FirstNote);
    assert_eq!(first, answer(&mut two, Timing::Free, Form::FirstNote));
    assert_ne!(first, answer(&mut other, Timing::Free, Form::FirstNote));
}

#[test]
fn every_kind_of_fault_comes_and_at_least_one_answer_in_eight_is_faulty() {
    let mut counts: BTreeMap<PlayingFault, u32> = BTreeMap::new();
    let mut faulty = 0;
    let mut player = player(1, Timbre::Brass, 0.9);
    for number in 0..600 {
        let timing = if number % 2 == 0 { Timing::Free } else { Timing::InTempo };
        let clock = AnswerClock { cue_end: Seconds(1.0), beat_zero: Some(Seconds(2.0)) };
        let asked = cue(&LINE, 140.0, Form::FirstNote, timing);
        let truth = player.perform(&asked, clock).truth;
        faulty += u32::from(!truth.faults.is_empty());
        truth.faults.iter().for_each(|fault| *counts.entry(*fault).or_default() += 1);
    }
    assert!((72..=180).contains(&faulty), "{faulty} of 600");
    for fault in PlayingFault::ALL {
        assert!(counts.contains_key(&fault), "{fault:?} never came: {counts:?}");
    }
}

#[test]
fn what_the_truth_says_is_what_sounds() {
    for timbre in Timbre::ALL {
        let mut player = player(11, timbre, 0.8);
        let (mut looked, mut close, mut silent_before) = (0, 0, 0);
        for number in 0..6 {
            let form = if number % 2 == 0 { Form::FirstNote } else { Form::Chord };
            let sounded = answer(&mut player, Timing::Free, form);
            for (note, pitch) in sounded.truth.notes.iter().zip(LINE) {
                let (PlayedAs::Right, Some(onset), Some(cents)) = (note.played_as, note.onset, note.cents) else {
                    continue;
                };
                let from = RATE.samples(onset - sounded.from + Seconds(0.06));
                let part = &sounded.clip.samples[from..from + 4096];
                // pitch-detection's YIN (de Cheveigne and Kawahara, JASA 111, 2002) as the outside witness.
                let heard = YINDetector::new(4096, 2048).get_pitch(part, 44_100, 0.0, 0.2);
                let want = f64::from(pitch + sounded.truth.shift.0) + cents.0 / 100.0;
                let off =
                    heard.map_or(99.0, |it| 100.0 * (69.0 + 12.0 * f64::from(it.frequency / 440.0).log2() - want));
                looked += 1;
                close += u32::from(off.abs() < 15.0);
            }
            if let Some(began) = sounded.truth.began {
                let at = RATE.samples(began - sounded.from);
                let rise = sounded.clip.mean(at + 400, at + 1300).0 - sounded.clip.mean(at - 1300, at - 450).0;
                silent_before += u32::from(rise > 30.0);
            }
        }
        assert!(close * 20 >= looked * 17, "{timbre:?}: {close} of {looked}");
        assert!(silent_before >= 5, "{timbre:?}");
    }
}

#[test]
fn a_free_answer_takes_as_long_as_a_reflex_and_a_tempo_answer_meets_its_beat() {
    let (mut reflexes, mut late) = (Vec::new(), Vec::new());
    let mut player = player(21, Timbre::Flute, 0.6);
    for _ in 0..60 {
        let clock = AnswerClock { cue_end: Seconds(3.0), beat_zero: Some(Seconds(4.0)) };
        let free = player.perform(&cue(&LINE, 120.0, Form::FirstNote, Timing::Free), clock).truth;
        if free.faults.is_empty() {
            reflexes.push(free.reflex.expect("a good answer has a first right note").0);
        }
        let timed = player.perform(&cue(&LINE, 120.0, Form::Pattern, Timing::InTempo), clock).truth;
        if timed.faults.is_empty() {
            late.push(timed.late.expect("in tempo").0);
        }
    }
    reflexes.sort_by(f64::total_cmp);
    assert!((0.35..1.3).contains(&reflexes[reflexes.len() / 2]), "{reflexes:?}");
    assert!(reflexes.iter().all(|reflex| *reflex > 0.12));
    assert!(late.iter().all(|late| late.abs() < 0.08), "{late:?}");
}

#[test]
fn a_key_that_is_tried_becomes_quick_and_a_week_away_makes_it_slower() {
    let clock = AnswerClock { cue_end: Seconds(3.0), beat_zero: None };
    let asked = cue(&[66, 68, 70, 71], 120.0, Form::FirstNote, Timing::Free);
    let mut player = player(31, Timbre::Brass, 0.5);
    let before = player.skill().of(asked.key);
    (0..40).for_each(|_| drop(player.perform(&asked, clock)));
    let learned = player.skill().of(asked.key);
    player.rest(7.0);
    assert!(learned > before + 0.3);
    assert!(player.skill().of(asked.key) < learned - 0.03);
}

#[test]
fn a_jumped_cue_sounds_before_it_could_have_been_taken_in() {
    let mut player = faulty_player(41, Timbre::Brass, 0.5, 0.3);
    let clock = AnswerClock { cue_end: Seconds(3.0), beat_zero: None };
    let asked = cue(&LINE, 120.0, Form::FirstNote, Timing::Free);
    let mut jumped = 0;
    for _ in 0..400 {
        let truth = player.perform(&asked, clock).truth;
        let early = truth.began.is_some_and(|began| began.0 < 0.12);
        assert_eq!(early, truth.faults.contains(&PlayingFault::Jumped), "{truth:?}");
        jumped += u32::from(early);
    }
    assert!(jumped >= 3);
}
