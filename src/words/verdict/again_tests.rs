//! Sentences on an answer in which notes were played more than once; the line and the player are those of the other tests.

use super::tests::{EIGHTH, LINE, asked, but, in_tempo, plays, reader};
use super::{headline, sentence};
use crate::notes::HeardNote;
use crate::units::Seconds;
use crate::verdict::{TempoStep, judge, step};

/// Parts of an answer, each with the silence before it beyond the length of an eighth, seconds.
fn parts(parts: &[(&[f64], f64)]) -> Vec<HeardNote> {
    let mut start = 2.5;
    let mut heard = Vec::new();
    for (pitches, wait) in parts {
        heard.extend(plays(pitches, start + wait, EIGHTH));
        start += wait + EIGHTH * pitches.len() as f64;
    }
    heard
}

fn said(heard: &[HeardNote]) -> String {
    let asked = in_tempo(&LINE);
    sentence(&judge(&asked, heard), &asked, heard, &reader("violin"), &[])
}

#[test]
fn who_stops_and_takes_the_line_up_again_is_told_where() {
    let right = but(&[]);
    let heard = parts(&[(&right[..5], 0.0), (&right[3..], 0.6)]);
    assert_eq!(
        said(&heard),
        "All eight right, but you stopped after the fifth note and took it up again from the fourth."
    );
    let asked = in_tempo(&LINE);
    let verdict = judge(&asked, &heard);
    assert_eq!(headline(&verdict, &asked, &heard, &reader("violin")), "went back");
    assert_eq!(step(&verdict, &asked, &heard), Some(TempoStep::Stay), "all right, and not at once");
    let one = said(&parts(&[(&right[..5], 0.0), (&right[4..], 0.6)]));
    assert!(one.contains("you stopped after the fifth note and took it up again from that note"), "{one}");
}

#[test]
fn the_note_that_was_wrong_the_first_time_is_named() {
    let (right, wrong) = (but(&[]), but(&[(5, 65.0)]));
    let corrected = said(&parts(&[(&wrong[..6], 0.0), (&right[4..], 0.5)]));
    let told = "you stopped after the sixth note, which was a half step high, and took it up again from the fifth";
    assert!(corrected.contains(told), "{corrected}");
    let begun = |first: &[f64]| said(&parts(&[(first, 0.0), (&right, 0.8)]));
    let third = begun(&but(&[(2, 63.0)])[..5]);
    assert!(third.ends_with("; the first time the third note, E, was a half step low."), "{third}");
    let off = begun(&right[..4]);
    assert!(off.starts_with("All eight right, at the second attempt"), "{off}");
    assert!(off.ends_with("; the first broke off after the fourth note."), "{off}");
}

#[test]
fn what_follows_is_judged_from_there() {
    let (right, wrong) = (but(&[]), but(&[(6, 61.0)]));
    let low = said(&parts(&[(&right[..5], 0.0), (&wrong[3..], 0.7)]));
    assert!(
        low.starts_with("Seven of eight: the seventh note, D, was a half step low, and you stopped after"),
        "{low}"
    );
    let off = said(&parts(&[(&right[..4], 0.0), (&right[2..6], 0.7)]));
    assert!(
        off.starts_with("Broke off after the sixth note; those six were right, and you stopped after the"),
        "{off}"
    );
}

#[test]
fn without_a_stop_it_is_told_that_the_player_went_back() {
    let right = but(&[]);
    let heard = said(&parts(&[(&right[..5], 0.0), (&right[1..], 0.0)]));
    assert!(heard.contains("All eight right, but after the fifth note you went back to the second"), "{heard}");
}

#[test]
fn two_tries_at_one_place_and_two_places_are_counted() {
    let right = but(&[]);
    let place = said(&parts(&[(&right[..5], 0.0), (&right[3..6], 0.6), (&right[3..], 0.6)]));
    assert!(place.contains("took it up again from the fourth, and went back once more"), "{place}");
    let places = said(&parts(&[(&right[..4], 0.0), (&right[2..7], 0.6), (&right[5..], 0.6)]));
    assert!(places.contains("you stopped after the fourth note and took it up again from the third"), "{places}");
    assert!(places.contains(", and went back once more"), "{places}");
}

#[test]
fn two_false_starts_without_a_silence_are_two_attempts() {
    let line = [60, 62, 64, 67, 65, 64, 62, 59, 60, 64, 67, 72];
    let all: Vec<f64> = line.iter().map(|pitch| f64::from(*pitch)).collect();
    let asked = asked(&line);
    let heard = plays(&[&all[..4], &all[..4], &all].concat(), 2.6, EIGHTH);
    let said = sentence(&judge(&asked, &heard), &asked, &heard, &reader("violin"), &[]);
    assert!(said.starts_with("All twelve right, at the third attempt"), "{said}");
}

#[test]
fn who_goes_back_down_after_the_end_has_struck_the_last_note_twice_and_played_the_others_too_many() {
    let asked = asked(&LINE[..4]);
    let heard = plays(&[60.0, 62.0, 64.0, 67.0, 67.0, 64.0, 62.0, 60.0], 2.6, EIGHTH);
    let mut heard = heard;
    heard[3].release = heard[4].onset;
    let said = sentence(&judge(&asked, &heard), &asked, &heard, &reader("violin"), &[]);
    let told = "three notes too many came, the first of them, E, after the fourth, and the fourth note, G, came twice;";
    assert!(said.contains(told), "{said}");
}

#[test]
fn of_two_strokes_the_one_on_the_beat_is_the_note_that_was_asked_for() {
    let mut heard = plays(&but(&[]), 2.5, EIGHTH);
    let mut early = heard[4];
    (early.onset, early.release) = (early.onset - Seconds(0.12), early.onset - Seconds(0.01));
    heard[3].release = early.onset;
    heard.insert(4, early);
    let asked = in_tempo(&LINE);
    let verdict = judge(&asked, &heard);
    assert_eq!(verdict.expected[4].heard, Some(5));
    assert_eq!(said(&heard), "All eight right, but the fifth note, F, came twice.");
}
