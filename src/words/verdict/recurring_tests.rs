//! Sentences on a fault that comes back, and on several notes out of tune; the line and the player are those of the other tests.

use super::tests::{EIGHTH, LINE, asked, but, key, plays, reader, says};
use super::{Recurring, recurring, sentence};
use crate::music::ConcertKey;
use crate::verdict::{FaultTally, Verdict, judge};

fn answers(keys: &[i32], heard: impl Fn(i32) -> Vec<f64>) -> Vec<(ConcertKey, Verdict)> {
    let one = |&up: &i32| {
        let asked = asked(&LINE.map(|pitch| pitch + up));
        let pitches: Vec<f64> = heard(up).iter().map(|pitch| pitch + f64::from(up)).collect();
        (key(up), judge(&asked, &plays(&pitches, 2.9, 0.25)))
    };
    keys.iter().map(one).collect()
}

#[track_caller]
fn names(answers: &[(ConcertKey, Verdict)], expected: Option<&str>) {
    assert_eq!(faults(answers).first().map(String::as_str), expected);
}

fn borrowed(answers: &[(ConcertKey, Verdict)]) -> Vec<(ConcertKey, &Verdict)> {
    answers.iter().map(|(key, verdict)| (*key, verdict)).collect()
}

fn came_back(answers: &[(ConcertKey, Verdict)]) -> Vec<Recurring> {
    let reader = reader("violin");
    recurring(&FaultTally::of(&borrowed(answers), reader.instrument().intonation), &reader)
}

fn faults(answers: &[(ConcertKey, Verdict)]) -> Vec<String> {
    came_back(answers).into_iter().map(|fault| fault.sentence).collect()
}

#[test]
fn a_seventh_note_flat_in_the_flat_keys_is_a_pattern() {
    // The keys asked are F Bb Eb Ab Db, then G D A.
    let low = |up: i32| if [5, 10, 3, 8].contains(&up) { but(&[(6, 61.58)]) } else { but(&[]) };
    let expected = "The seventh note was flat in four of five flat keys.";
    names(&answers(&[5, 10, 3, 8, 1, 7, 2, 9], low), Some(expected));
}

#[test]
fn the_same_slip_in_every_key_is_a_pattern() {
    let expected = "The sixth note was a half step low in all four keys.";
    names(&answers(&[0, 5, 7, 2], |_| but(&[(5, 63.0)])), Some(expected));
}

#[test]
fn whole_answers_a_whole_step_low_in_every_key_ask_for_the_instrument() {
    let low = |by: f64| move |_: i32| but(&[]).into_iter().map(|pitch| pitch - by).collect::<Vec<f64>>();
    let expected = "You played a whole step low in all three keys. Is the instrument set right? It is set to violin.";
    names(&answers(&[0, 5, 7], low(2.0)), Some(expected));
    let expected = "You played a half step low in all four keys. Is the instrument set right? It is set to violin.";
    names(&answers(&[0, 5, 7, 2], low(1.0)), Some(expected));
    names(&answers(&[0, 5], low(2.0)), None);
    let twice = |up: i32| if up < 6 { low(2.0)(up) } else { but(&[]) };
    names(&answers(&[0, 5, 7, 9], twice), None);
}

#[test]
fn twice_is_not_a_pattern() {
    let slips = |up: i32| if up < 2 { but(&[(5, 63.0)]) } else { but(&[]) };
    names(&answers(&[0, 1, 5, 7, 2], slips), None);
}

#[test]
fn two_faults_that_come_back_are_both_named_the_one_in_more_keys_first() {
    let heard = |up: i32| but(if up == 0 { &[(5, 63.0)] } else { &[(5, 63.0), (2, 64.38)] });
    assert_eq!(
        faults(&answers(&[0, 5, 7, 2], heard)),
        ["The sixth note was a half step low in all four keys.", "The third note was sharp in three of four keys."]
    );
}

#[test]
fn a_note_that_was_named_as_sharp_in_every_key_is_not_held_against_each_answer_again() {
    let known = answers(&[0, 5, 7], |_| but(&[(2, 64.38)]));
    let named = came_back(&known);
    assert_eq!(named[0].sentence, "The third note was sharp in all three keys.");
    let says = |heard: &[(usize, f64)], named, expected: &str| {
        let (asked, heard) = (asked(&LINE), plays(&but(heard), 2.9, EIGHTH));
        assert_eq!(sentence(&judge(&asked, &heard), &asked, &heard, &reader("violin"), named), expected);
    };
    let once = "All eight right, 0.9 s to begin; the third note, E, was 38 cents sharp against the rest.";
    says(&[(2, 64.38)], &[], once);
    says(&[(2, 64.38)], &named, "All eight right, 0.9 s to begin.");
    let other = "All eight right, 0.9 s to begin; the fourth note, G, was 25 cents flat against the rest.";
    says(&[(2, 64.38), (3, 66.75)], &named, other);
    let low = "All eight right, 0.9 s to begin; the third note, E, was 38 cents flat against the rest.";
    says(&[(2, 63.62)], &named, low);
}

#[test]
fn a_wrong_note_is_told_each_time_or_the_count_would_not_be_explained() {
    let slip = || but(&[(5, 63.0)]);
    let named = came_back(&answers(&[0, 5, 7], |_| slip()));
    let (asked, heard) = (asked(&LINE), plays(&slip(), 2.9, EIGHTH));
    assert_eq!(
        sentence(&judge(&asked, &heard), &asked, &heard, &reader("violin"), &named),
        "Seven of eight: the sixth note, E, was a half step low; 0.9 s to begin."
    );
}

#[test]
fn two_notes_out_of_tune_are_both_named_and_of_more_the_number_is_said() {
    let first = but(&[(0, 59.62), (1, 61.64), (2, 63.6)]);
    let alike = "the first, second and third notes were 38 cents flat against the rest.";
    says(&plays(&first, 2.5, EIGHTH), &format!("All eight right, quick to begin: 0.5 s; {alike}"));
    let apart = "the sixth note, E, was 50 cents flat against the rest, and two more were flat by less.";
    let heard = plays(&but(&[(2, 63.72), (3, 66.75), (5, 63.5)]), 2.5, EIGHTH);
    says(&heard, &format!("All eight right, quick to begin: 0.5 s; {apart}"));
    let two = "the sixth note, E, was 30 cents flat, and the third note, E, 28 cents sharp against the rest.";
    says(
        &plays(&but(&[(2, 64.28), (5, 63.70)]), 2.5, EIGHTH),
        &format!("All eight right, quick to begin: 0.5 s; {two}"),
    );
    let more = "the sixth note, E, was 30 cents flat against the rest, and two more were out of tune.";
    let heard = plays(&but(&[(2, 64.28), (3, 66.75), (5, 63.70)]), 2.5, EIGHTH);
    says(&heard, &format!("All eight right, quick to begin: 0.5 s; {more}"));
}
