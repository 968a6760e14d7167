//! Sentences on how often the player began; the line and the player are those of the other tests.

use super::tests::{LINE, asked, but, plays, reader};
use super::{ALL_RIGHT, headline, sentence};
use crate::notes::HeardNote;
use crate::verdict::judge;

#[test]
fn the_wrong_key_at_the_second_attempt() {
    let moved: Vec<f64> = but(&[]).iter().map(|pitch| pitch - 3.0).collect();
    let (asked, first, again) = (asked(&LINE), plays(&moved[..4], 2.6, 0.25), plays(&moved, 4.4, 0.25));
    let heard: Vec<HeardNote> = first.into_iter().chain(again).collect();
    assert_eq!(
        sentence(&judge(&asked, &heard), &asked, &reader("violin"), &[]),
        "Right shape, wrong key: you played in A, the cue asked for C, at the second attempt."
    );
}

#[test]
fn what_came_out_at_the_second_attempt_is_not_called_all_right() {
    let (asked, once, again) = (asked(&LINE), plays(&but(&[]), 2.6, 0.25), plays(&but(&[]), 4.4, 0.25));
    let at_once = judge(&asked, &once);
    assert_eq!((at_once.attempts, headline(&at_once, &asked, &reader("violin"))), (1, ALL_RIGHT.to_owned()));
    let heard: Vec<HeardNote> = once[..4].iter().cloned().chain(again).collect();
    let verdict = judge(&asked, &heard);
    assert_eq!((verdict.attempts, headline(&verdict, &asked, &reader("violin")).as_str()), (2, "second attempt"));
}
