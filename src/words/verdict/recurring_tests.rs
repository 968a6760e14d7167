//! A fault that comes back, over the line and the player of the other tests.

use super::recurring;
use super::tests::{LINE, asked, but, key, plays, reader};
use crate::music::ConcertKey;
use crate::verdict::{Verdict, judge};

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
    let borrowed: Vec<(ConcertKey, &Verdict)> = answers.iter().map(|(key, verdict)| (*key, verdict)).collect();
    assert_eq!(recurring(&borrowed, &reader("violin")).map(|fault| fault.sentence).as_deref(), expected);
}

#[test]
fn a_seventh_note_flat_in_the_flat_keys_is_a_pattern() {
    // F Bb Eb Ab Db, then G D A.
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
fn twice_is_not_a_pattern() {
    let slips = |up: i32| if up < 2 { but(&[(5, 63.0)]) } else { but(&[]) };
    names(&answers(&[0, 1, 5, 7, 2], slips), None);
}
