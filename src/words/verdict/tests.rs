//! Sentences as a teacher would say them. Eight notes, eighths at quarter = 120, the cue ends at two seconds; unless said
//! otherwise the player reads concert pitch and the key is C.

use super::sentence;
use crate::music::{Concert, ConcertKey, Instrument, Intonation, PitchClass, Reading, Spelling, instrument};
use crate::notes::HeardNote;
use crate::pattern::{ExpectedNote, Line};
use crate::units::{Beats, Cents, Decibels, Midi, Seconds, Tempo};
use crate::verdict::{Expectation, TimeOrigin, judge};
use crate::words::Page;
use crate::words::reader::Reader;

pub(super) const LINE: [i32; 8] = [60, 62, 64, 67, 65, 64, 62, 59];
pub(super) const EIGHTH: f64 = 0.25;

pub(super) fn player(id: &str) -> &'static Instrument {
    instrument(id).expect("in the table")
}

pub(super) fn key(half_steps_from_c: i32) -> ConcertKey {
    ConcertKey(PitchClass::new(half_steps_from_c))
}

pub(super) fn asked(pitches: &[i32]) -> Expectation {
    let note = |(i, &pitch): (usize, &i32)| ExpectedNote {
        pitch: Concert(pitch),
        at: Beats(0.5 * i as f64),
        length: Beats(0.5),
        named: None,
    };
    let notes: Vec<ExpectedNote> = pitches.iter().enumerate().map(note).collect();
    let length = Beats(0.5 * pitches.len() as f64);
    let clock = TimeOrigin::Free { cue_end: Seconds(2.0) };
    let intonation = Intonation::Scored { in_tune: Cents(10.0), acceptable: Cents(20.0), off: Cents(40.0) };
    Expectation {
        line: Line { notes, length },
        tempo: Tempo(120.0),
        clock,
        delay: Some(Seconds(0.0)),
        intonation,
        usual: crate::verdict::UsualTuning::Unknown,
    }
}

pub(super) fn in_tempo(pitches: &[i32]) -> Expectation {
    Expectation { clock: TimeOrigin::InTempo { cue_end: Seconds(2.0), beat_zero: Seconds(2.5) }, ..asked(pitches) }
}

/// Notes one after the other, their beginnings `gap` seconds apart, from `start` on; a pitch with a fraction is out of tune.
pub(super) fn plays(pitches: &[f64], start: f64, gap: f64) -> Vec<HeardNote> {
    let note = |(i, &pitch): (usize, &f64)| one(pitch, start + gap * i as f64, 0.88 * gap);
    pitches.iter().enumerate().map(note).collect()
}

fn one(pitch: f64, onset: f64, length: f64) -> HeardNote {
    HeardNote {
        number: (onset * 1000.0) as u32,
        onset: Seconds(onset),
        release: Seconds(onset + length),
        pitch: Midi(pitch),
        spread: Some(Cents(2.0)),
        loudness: Decibels(-20.0),
        confidence: 0.95,
        announced: Seconds(onset + 0.05),
        announced_pitch: Midi(pitch),
    }
}

/// The line with some notes changed: `(place, pitch)`.
pub(super) fn but(changes: &[(usize, f64)]) -> Vec<f64> {
    let mut pitches: Vec<f64> = LINE.iter().map(|pitch| f64::from(*pitch)).collect();
    for (place, pitch) in changes {
        pitches[*place] = *pitch;
    }
    pitches
}

pub(super) fn reader(id: &str) -> Reader<'static> {
    let page: &'static Page = Box::leak(Box::new(Page::new(player(id).clone(), Reading::default())));
    Reader { page, key: key(0), spelling: Spelling::default(), calibrated: true, usual_tempo: false }
}

#[test]
fn who_leaves_the_key_from_some_note_on_is_told_from_which_and_by_how_much() {
    for (from, note, right) in [(3, "fourth", "Three"), (4, "fifth", "Four"), (5, "sixth", "Five")] {
        let moved = |by: f64| -> Vec<(usize, f64)> { (from..8).map(|n| (n, f64::from(LINE[n]) + by)).collect() };
        for (by, how) in [(1.0, "a half step high"), (-1.0, "a half step low"), (12.0, "an octave high")] {
            let said = of_notes(&in_tempo(&LINE), &plays(&but(&moved(by)), 2.5, EIGHTH));
            assert_eq!(said, format!("{right} of eight: from the {note} note on you were {how}."));
        }
    }
}

#[test]
fn two_neighbours_that_changed_places_were_exchanged() {
    let swapped = but(&[(2, f64::from(LINE[3])), (3, f64::from(LINE[2]))]);
    let said = of_notes(&in_tempo(&LINE), &plays(&swapped, 2.5, EIGHTH));
    assert_eq!(said, "Six of eight: the third and fourth notes were exchanged.");
}

#[test]
fn behind_a_fault_the_octave_of_the_whole_is_not_that_of_the_note() {
    let high: Vec<f64> = but(&[(4, f64::from(LINE[4]) - 1.0)]).iter().map(|pitch| pitch + 12.0).collect();
    let said = of_notes(&in_tempo(&LINE), &plays(&high, 2.5, EIGHTH));
    assert!(said.ends_with(" was a half step low; all of it an octave higher than asked."), "{said}");
}

#[test]
fn the_one_note_in_tune_of_a_flat_line_is_not_called_sharp() {
    let mut flat: Vec<f64> = but(&[]).iter().map(|pitch| pitch - 0.4).collect();
    flat[4] += 0.4;
    assert_eq!(
        of_notes(&in_tempo(&LINE), &plays(&flat, 2.5, EIGHTH)),
        "All eight right; as a whole 40 cents flat, but the fifth note, F, was in tune."
    );
}

pub(super) fn of_notes(asked: &Expectation, heard: &[HeardNote]) -> String {
    sentence(&judge(asked, heard), asked, heard, &reader("violin"), &[])
}

#[track_caller]
pub(super) fn says(heard: &[HeardNote], expected: &str) {
    assert_eq!(of_notes(&asked(&LINE), heard), expected);
}

#[track_caller]
pub(super) fn says_in_tempo(heard: &[HeardNote], expected: &str) {
    assert_eq!(of_notes(&in_tempo(&LINE), heard), expected);
}

fn without(places: &[usize], start: f64) -> Vec<HeardNote> {
    let all = plays(&but(&[]), start, EIGHTH);
    all.into_iter().enumerate().filter(|(i, _)| !places.contains(i)).map(|(_, note)| note).collect()
}

#[test]
fn all_right_and_the_ear_was_quicker_than_the_head() {
    says(&plays(&but(&[]), 2.5, EIGHTH), "All eight right, and quick to begin: 0.5 s.");
}

#[test]
fn all_right_after_a_short_thought() {
    says(&plays(&but(&[]), 2.9, EIGHTH), "All eight right, 0.9 s to begin.");
}

#[test]
fn all_right_but_only_after_a_long_search() {
    says(&plays(&but(&[]), 4.4, EIGHTH), "All eight right, but slow to begin: 2.4 s.");
}

#[test]
fn a_time_without_calibration_is_said_to_be_one() {
    let (asked, heard) = (asked(&LINE), plays(&but(&[]), 2.9, EIGHTH));
    let reader = Reader { calibrated: false, ..reader("violin") };
    assert_eq!(
        sentence(&judge(&asked, &heard), &asked, &heard, &reader, &[]),
        "All eight right, 0.9 s to begin (not calibrated)."
    );
}

#[test]
fn all_right_with_the_beat() {
    says_in_tempo(&plays(&but(&[]), 2.51, EIGHTH), "All eight right and in time.");
}

#[test]
fn one_note_sharp_against_the_rest() {
    let expected = "All eight right, quick to begin: 0.5 s; the third note, E, was 28 cents sharp against the rest.";
    says(&plays(&but(&[(2, 64.28)]), 2.5, EIGHTH), expected);
}

#[test]
fn one_note_flat_against_the_rest() {
    let expected = "All eight right, quick to begin: 0.5 s; the fourth note, G, was 25 cents flat against the rest.";
    says(&plays(&but(&[(3, 66.75)]), 2.5, EIGHTH), expected);
}

#[test]
fn a_cold_instrument_is_flat_as_a_whole_and_no_note_is_blamed() {
    let flat: Vec<f64> = but(&[]).iter().map(|pitch| pitch - 0.32).collect();
    says(
        &plays(&flat, 2.5, EIGHTH),
        "All eight right, quick to begin: 0.5 s; as a whole 32 cents flat: tune the strings again.",
    );
}

#[test]
fn a_piano_is_never_out_of_tune() {
    let flat: Vec<f64> = but(&[(2, 64.3)]).iter().map(|pitch| pitch - 0.2).collect();
    let asked = Expectation { intonation: player("piano").intonation, ..asked(&LINE) };
    assert_eq!(of_notes(&asked, &plays(&flat, 2.5, EIGHTH)), "All eight right, and quick to begin: 0.5 s.");
}

#[test]
fn an_octave_higher_is_right() {
    let high: Vec<f64> = but(&[]).iter().map(|pitch| pitch + 12.0).collect();
    says(&plays(&high, 2.9, EIGHTH), "All eight right, an octave higher than asked, 0.9 s to begin.");
}

#[test]
fn an_octave_lower_is_right() {
    let low: Vec<f64> = but(&[]).iter().map(|pitch| pitch - 12.0).collect();
    says(&plays(&low, 2.9, EIGHTH), "All eight right, an octave lower than asked, 0.9 s to begin.");
    says_in_tempo(&plays(&low, 2.5, EIGHTH), "All eight right and in time, an octave lower than asked.");
}

#[test]
fn right_shape_in_the_wrong_key() {
    let moved: Vec<f64> = but(&[]).iter().map(|pitch| pitch - 3.0).collect();
    says(&plays(&moved, 2.9, EIGHTH), "Right shape, wrong key: you played in A, the cue asked for C.");
}

/// Whoever plays 60 cents flat and whoever plays a half step low and 40 sharp sound the same, and would move the slide to opposite sides.
#[test]
fn between_two_keys_no_side_is_advised() {
    let between: Vec<f64> = but(&[]).iter().map(|pitch| pitch - 0.6).collect();
    says(
        &plays(&between, 2.5, EIGHTH),
        "Right shape, wrong key: you played in B, the cue asked for C; as a whole 40 cents sharp, or 60 cents flat in C: tune first.",
    );
    let above: Vec<f64> = but(&[]).iter().map(|pitch| pitch + 0.6).collect();
    says(
        &plays(&above, 2.5, EIGHTH),
        "Right shape, wrong key: you played in Db, the cue asked for C; as a whole 40 cents flat, or 60 cents sharp in C: tune first.",
    );
}

#[test]
fn a_trumpet_hears_of_keys_as_they_stand_on_its_page() {
    let (asked, moved) = (asked(&LINE), but(&[]).iter().map(|pitch| pitch - 3.0).collect::<Vec<_>>());
    let sentence = sentence(&judge(&asked, &plays(&moved, 2.9, EIGHTH)), &asked, &[], &reader("trumpet"), &[]);
    assert_eq!(sentence, "Right shape, wrong key: you played in B, the cue asked for D.");
}

#[test]
fn the_wrong_key_and_a_slip_in_it() {
    let moved: Vec<f64> = but(&[(5, 65.0)]).iter().map(|pitch| pitch + 2.0).collect();
    let expected =
        "Wrong key: you played in D, the cue asked for C; in that key the sixth note, F#, was a half step high.";
    says(&plays(&moved, 2.9, EIGHTH), expected);
}

#[test]
fn one_note_a_half_step_low() {
    says(
        &plays(&but(&[(5, 63.0)]), 2.9, EIGHTH),
        "Seven of eight: the sixth note, E, was a half step low; 0.9 s to begin.",
    );
}

#[test]
fn one_note_a_whole_step_high_after_a_quick_start() {
    let expected = "Seven of eight: the fourth note, G, was a whole step high; quick to begin: 0.4 s.";
    says(&plays(&but(&[(3, 69.0)]), 2.4, EIGHTH), expected);
}

#[test]
fn a_wrong_note_after_a_slow_start() {
    let expected = "Seven of eight: the fourth note, G, was a minor third low; slow to begin: 1.9 s.";
    says(&plays(&but(&[(3, 64.0)]), 3.9, EIGHTH), expected);
}

#[test]
fn a_wrong_note_in_tempo_needs_no_reflex() {
    says_in_tempo(&plays(&but(&[(5, 63.0)]), 2.5, EIGHTH), "Seven of eight: the sixth note, E, was a half step low.");
}

#[test]
fn two_notes_wrong_in_the_same_way() {
    let expected = "Six of eight: the third and sixth notes were a half step low; 0.9 s to begin.";
    says(&plays(&but(&[(2, 63.0), (5, 63.0)]), 2.9, EIGHTH), expected);
}

#[test]
fn three_notes_wrong_each_in_its_own_way() {
    let expected = "Five of eight: the second, fourth and seventh notes were wrong; 0.9 s to begin.";
    says(&plays(&but(&[(1, 61.0), (3, 69.0), (6, 57.0)]), 2.9, EIGHTH), expected);
}

#[test]
fn a_note_in_another_octave_is_named() {
    says(
        &plays(&but(&[(3, 79.0)]), 2.9, EIGHTH),
        "Seven of eight: the fourth note, G, came an octave high; 0.9 s to begin.",
    );
}

#[test]
fn the_first_note_did_not_come() {
    says(&without(&[0], 2.9), "Seven of eight: the first note, C, was left out.");
}

#[test]
fn one_note_left_out() {
    says(&without(&[3], 2.9), "Seven of eight: the fourth note, G, was left out; 0.9 s to begin.");
}

#[test]
fn two_notes_left_out() {
    says(&without(&[1, 4], 2.9), "Six of eight: the second and fifth notes were left out; 0.9 s to begin.");
}

#[test]
fn broke_off_in_the_middle() {
    let expected = "Broke off after the fourth note; those four were right; 0.9 s to begin.";
    says(&without(&[4, 5, 6, 7], 2.9), expected);
}

#[test]
fn broke_off_after_a_slip() {
    let heard = &plays(&but(&[(3, 66.0)]), 2.9, EIGHTH)[..5];
    let expected = "Broke off after the fifth note, four of those five right, and the fourth note, G, was a half step low; 0.9 s to begin.";
    says(heard, expected);
}

#[test]
fn one_note_too_many() {
    let mut heard = plays(&but(&[]), 2.9, EIGHTH);
    heard.iter_mut().skip(3).for_each(|note| {
        note.onset = note.onset + Seconds(EIGHTH);
        note.release = note.release + Seconds(EIGHTH);
    });
    heard.insert(3, one(70.0, 2.9 + 3.0 * EIGHTH, 0.22));
    says(&heard, "All eight right, but one note too many, Bb, came after the third; 0.9 s to begin.");
}

#[test]
fn wrong_and_left_out_in_one_answer() {
    let mut heard = plays(&but(&[(2, 63.0)]), 2.9, EIGHTH);
    heard.remove(5);
    let expected =
        "Six of eight: the third note, E, was a half step low, and the sixth note, E, was left out; 0.9 s to begin.";
    says(&heard, expected);
}

#[test]
fn a_false_start_then_all_right() {
    let mut heard = plays(&but(&[])[..4], 2.6, EIGHTH);
    heard.extend(plays(&but(&[]), 4.4, EIGHTH));
    says(&heard, "All eight right, at the second attempt; the first broke off after the fourth note.");
}

#[test]
fn equal_notes_held_as_one() {
    let line = [60, 62, 62, 64, 65];
    let mut heard = plays(&[60.0, 62.0, 64.0, 65.0], 2.9, EIGHTH);
    heard[1].release = Seconds(2.9 + 2.9 * EIGHTH);
    heard[2] = one(64.0, 2.9 + 3.0 * EIGHTH, 0.22);
    heard[3] = one(65.0, 2.9 + 4.0 * EIGHTH, 0.22);
    let expected = "All five right, 0.9 s to begin; the second and third were held as one.";
    assert_eq!(of_notes(&asked(&line), &heard), expected);
}

#[test]
fn came_in_before_the_cue_had_ended() {
    let expected = "All eight right; you jumped the cue, before it had ended, so the time is not counted.";
    says(&plays(&but(&[]), 1.9, EIGHTH), expected);
}

#[test]
fn a_guess_is_no_reflex() {
    let expected = "All eight right; you jumped the cue, too soon to have heard it out, so the time is not counted.";
    says(&plays(&but(&[]), 2.05, EIGHTH), expected);
}

#[test]
fn something_else_altogether() {
    let heard = plays(&[70.0, 75.0, 69.0, 77.0, 73.0, 81.0], 2.9, EIGHTH);
    says(&heard, "That was not the line that was asked, so it is not scored.");
}

#[test]
fn no_answer_is_neither_right_nor_wrong() {
    says(&[], "No note was heard, so nothing is scored.");
}

#[test]
fn a_knock_is_not_an_answer() {
    for pitch in [52.3, 57.4, 64.1] {
        let knock = HeardNote { confidence: 0.2, ..one(pitch, 3.0, 0.03) };
        says(&[knock], "Only stray sounds were heard, no note; nothing is scored.");
    }
}

#[test]
fn a_single_note_is_simply_right() {
    assert_eq!(of_notes(&asked(&[60]), &plays(&[60.0], 2.9, EIGHTH)), "Right, 0.9 s to begin.");
}
