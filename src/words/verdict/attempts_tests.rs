//! How often the player began, over the line and the player of the other tests.

use super::sentence;
use super::tests::{LINE, asked, but, plays, reader};
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
