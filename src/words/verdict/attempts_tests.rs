//! Sentences on how often the player began and a note was struck, in which key and at which pace; the line and the player are those of the other tests.

use super::tests::{LINE, asked, but, plays, reader};
use super::{ALL_RIGHT, headline, sentence};
use crate::notes::HeardNote;
use crate::units::Seconds;
use crate::verdict::judge;
use crate::words::reader::Reader;

#[test]
fn the_wrong_key_at_the_second_attempt() {
    let moved: Vec<f64> = but(&[]).iter().map(|pitch| pitch - 3.0).collect();
    let (asked, first, again) = (asked(&LINE), plays(&moved[..4], 2.6, 0.25), plays(&moved, 4.4, 0.25));
    let heard: Vec<HeardNote> = first.into_iter().chain(again).collect();
    assert_eq!(
        sentence(&judge(&asked, &heard), &asked, &heard, &reader("violin"), &[]),
        "Right shape, wrong key: you played in A, the cue asked for C, at the second attempt."
    );
}

#[test]
fn what_came_out_at_the_second_attempt_is_not_called_all_right() {
    let (asked, once, again) = (asked(&LINE), plays(&but(&[]), 2.6, 0.25), plays(&but(&[]), 4.4, 0.25));
    let at_once = judge(&asked, &once);
    assert_eq!((at_once.attempts, headline(&at_once, &asked, &once, &reader("violin"))), (1, ALL_RIGHT.to_owned()));
    let heard: Vec<HeardNote> = once[..4].iter().cloned().chain(again).collect();
    let verdict = judge(&asked, &heard);
    assert_eq!(
        (verdict.attempts, headline(&verdict, &asked, &heard, &reader("violin")).as_str()),
        (2, "second attempt")
    );
}

#[test]
fn the_large_line_names_the_one_note_that_was_not_right_and_counts_where_they_are_more() {
    let asked = asked(&LINE);
    let of = |heard: &[HeardNote]| headline(&judge(&asked, heard), &asked, heard, &reader("violin"));
    let with = |notes: &[(usize, f64)]| plays(&but(notes), 2.6, 0.25);
    let mut left_out = with(&[]);
    left_out.remove(5);
    assert_eq!(of(&with(&[(2, 63.0)])), "E was Eb");
    assert_eq!(of(&left_out), "E left out");
    assert_eq!(of(&with(&[(4, 53.0)])), "F octave low");
    assert_eq!(of(&with(&[(2, 63.0), (4, 66.0)])), "6 of 8");
}

#[test]
fn who_begins_three_or_four_times_is_told_at_which_attempt_it_came() {
    let asked = asked(&LINE);
    for (begun, attempt) in [(&[3][..], "second"), (&[3, 4], "third"), (&[2, 5], "third"), (&[3, 4, 3], "fourth")] {
        let mut heard: Vec<HeardNote> = Vec::new();
        let mut start = 2.6;
        for notes in begun.iter().chain(&[8]) {
            heard.extend(plays(&but(&[])[..*notes], start, 0.25));
            start += 0.25 * *notes as f64 + 0.5;
        }
        let said = sentence(&judge(&asked, &heard), &asked, &heard, &reader("piano"), &[]);
        assert!(said.starts_with(&format!("All eight right, at the {attempt} attempt")), "{begun:?}: {said}");
    }
}

#[test]
fn who_plays_the_whole_line_again_and_again_is_told_at_which_attempt_it_came() {
    let asked = asked(&LINE);
    for (wrong, attempt) in [(1, "second"), (2, "third"), (3, "fourth")] {
        let tries = (0..=wrong).flat_map(|n| {
            let pitches = if n < wrong { but(&[(2, 63.0)]) } else { but(&[]) };
            plays(&pitches, 2.6 + 2.6 * f64::from(n), 0.25)
        });
        let heard: Vec<HeardNote> = tries.collect();
        let said = sentence(&judge(&asked, &heard), &asked, &heard, &reader("piano"), &[]);
        assert!(said.starts_with(&format!("All eight right, at the {attempt} attempt")), "{wrong}: {said}");
    }
}

#[test]
fn tries_that_break_off_and_whole_ones_with_a_wrong_note_are_each_counted() {
    let asked = asked(&LINE);
    let wrong = but(&[(2, 63.0)]);
    let tries = |tries: &[&[f64]]| {
        let mut start = 2.6;
        let mut heard = Vec::new();
        for pitches in tries {
            heard.extend(plays(pitches, start, 0.25));
            start += 0.25 * pitches.len() as f64 + 0.6;
        }
        sentence(&judge(&asked, &heard), &asked, &heard, &reader("piano"), &[])
    };
    let right = but(&[]);
    let said = tries(&[&right[..4], &right[..6], &wrong, &right]);
    assert!(said.starts_with("All eight right, at the fourth attempt"), "{said}");
    let said = tries(&[&wrong, &right[..5], &right]);
    assert!(said.starts_with("All eight right, at the third attempt"), "{said}");
    // Whoever begins a right line once more and breaks off has answered all the same.
    let said = tries(&[&right, &right[..4]]);
    assert!(said.starts_with("All eight right") && !said.contains("attempt") && !said.contains("too many"), "{said}");
    let said = tries(&[&wrong, &right, &right[..5]]);
    assert!(said.starts_with("All eight right, at the second attempt"), "{said}");
}

#[test]
fn a_note_struck_three_or_four_times_is_told_by_its_number() {
    let asked = asked(&LINE);
    for (place, note) in [(0, "first note, C,"), (3, "fourth note, G,"), (7, "eighth note, B,")] {
        for (strokes, times) in [(1, "twice"), (2, "three times"), (3, "four times")] {
            let mut pitches = but(&[]);
            (0..strokes).for_each(|_| pitches.insert(place, f64::from(LINE[place])));
            let said = sentence(&judge(&asked, &plays(&pitches, 2.6, 0.25)), &asked, &[], &reader("piano"), &[]);
            assert!(said.contains(&format!("the {note} came {times}")), "{place} {strokes}: {said}");
        }
    }
}

#[test]
fn in_the_key_that_was_played_a_note_has_its_name_there() {
    // The fifth of Db major is Ab (common practice).
    let line = [60, 62, 64, 65, 67, 65, 64, 62, 60];
    let asked = asked(&line);
    let mut played: Vec<f64> = line.iter().map(|pitch| f64::from(pitch + 1)).collect();
    played[4] += 1.0;
    let said = sentence(&judge(&asked, &plays(&played, 2.6, 0.25)), &asked, &[], &reader("piano"), &[]);
    assert!(said.contains("in that key the fifth note, Ab, was a half step high"), "{said}");
}

#[test]
fn where_nobody_named_a_tempo_the_usual_one_is_not_called_asked() {
    let asked = asked(&LINE);
    for gap in [0.17, 0.4] {
        let verdict = judge(&asked, &plays(&but(&[]), 2.6, gap));
        let reader = reader("piano");
        assert!(sentence(&verdict, &asked, &[], &reader, &[]).contains("asked"));
        let said = sentence(&verdict, &asked, &[], &Reader { usual_tempo: true, ..reader }, &[]);
        assert!(said.contains("where 120 is usual") && !said.contains("asked"), "{said}");
    }
}

#[test]
fn equal_notes_of_a_slower_half_are_not_told_apart() {
    let asked = asked(&LINE);
    for (first, then) in [(0.333, 0.25), (0.25, 0.323)] {
        let mut heard = plays(&but(&[]), 2.6, 0.25);
        let mut onset = 2.6;
        for (n, note) in heard.iter_mut().enumerate() {
            let length = if n < 4 { first } else { then };
            (note.onset, note.release) = (Seconds(onset), Seconds(onset + 0.9 * length));
            onset += length;
        }
        let said = sentence(&judge(&asked, &heard), &asked, &heard, &reader("piano"), &[]);
        assert!(!said.contains("dotted"), "{said}");
    }
}

#[test]
fn who_plays_round_and_round_without_a_pause_is_judged_by_the_line_that_was_right() {
    let asked = asked(&LINE);
    let wrong = but(&[(4, 66.0)]);
    let first = "All eight right, at the second attempt; the first time the fifth note, F, was a half step high.";
    for (tries, said) in [
        (&[but(&[]), but(&[])][..], "All eight right, 0.6 s to begin."),
        (&[but(&[]), but(&[]), but(&[])], "All eight right, 0.6 s to begin."),
        (&[but(&[]), but(&[])[..3].to_vec()], "All eight right, 0.6 s to begin."),
        (&[but(&[]), wrong.clone()], "All eight right, 0.6 s to begin."),
        (&[wrong.clone(), but(&[])], first),
        (&[wrong.clone(), wrong.clone(), but(&[])], "All eight right, at the third attempt."),
    ] {
        let heard = plays(&tries.concat(), 2.6, 0.25);
        assert_eq!(sentence(&judge(&asked, &heard), &asked, &heard, &reader("piano"), &[]), said);
    }
    // One note more is no new beginning.
    let more = plays(&[but(&[]), vec![60.0]].concat(), 2.6, 0.25);
    let said = sentence(&judge(&asked, &more), &asked, &more, &reader("piano"), &[]);
    assert!(said.contains("one note too many"), "{said}");
}
