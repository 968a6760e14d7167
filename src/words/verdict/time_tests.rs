//! Sentences on time; the line and the player are those of the other tests.

use super::tests::{EIGHTH, LINE, asked, but, in_tempo, of_notes, plays, reader, says, says_in_tempo};
use super::{headline, sentence};
use crate::notes::HeardNote;
use crate::units::{Beats, Seconds, Tempo};
use crate::verdict::{Expectation, judge};

#[test]
fn behind_the_beat_throughout() {
    says_in_tempo(&plays(&but(&[]), 2.57, EIGHTH), "All eight right; about 70 ms late throughout.");
    says_in_tempo(&plays(&but(&[]), 2.54, EIGHTH), "All eight right.");
    says_in_tempo(&plays(&but(&[]), 2.525, EIGHTH), "All eight right and in time.");
}

#[test]
fn far_behind_the_beat_is_said_in_beats() {
    says_in_tempo(&plays(&but(&[]), 3.5, EIGHTH), "All eight right; you came in two beats late.");
    says_in_tempo(&plays(&but(&[]), 3.0, EIGHTH), "All eight right; you came in a beat late.");
    says_in_tempo(&plays(&but(&[]), 4.5, EIGHTH), "All eight right; you came in four beats late.");
    says_in_tempo(&plays(&but(&[]), 0.75, EIGHTH), "All eight right; you came in three and a half beats early.");
}

#[test]
fn half_a_beat_must_be_a_quarter_of_a_second_and_more() {
    says_in_tempo(&plays(&but(&[]), 2.74, EIGHTH), "All eight right; about 240 ms late throughout.");
    says_in_tempo(&plays(&but(&[]), 2.77, EIGHTH), "All eight right; you came in half a beat late.");
}

#[test]
fn two_faults_are_told_and_the_graver_first() {
    says_in_tempo(
        &plays(&but(&[(5, 63.0)]), 3.0, EIGHTH),
        "Seven of eight: the sixth note, E, was a half step low; you came in a beat late.",
    );
    says_in_tempo(
        &plays(&but(&[(2, 64.3)]), 3.0, EIGHTH),
        "All eight right; you came in a beat late, and the third note, E, was 30 cents sharp against the rest.",
    );
}

#[test]
fn one_late_note_is_named() {
    let mut heard = plays(&but(&[]), 2.5, EIGHTH);
    heard[4].onset.0 += 0.086;
    says_in_tempo(&heard, "All eight right; the fifth note, F, came 90 ms late.");
}

#[test]
fn two_late_notes_are_both_named_and_the_line_is_not_called_uneven() {
    let mut heard = plays(&but(&[]), 2.5, EIGHTH);
    heard[2].onset.0 += 0.12;
    heard[6].onset.0 += 0.12;
    says_in_tempo(
        &heard,
        "All eight right; the third note, E, came 120 ms late, and the seventh note, D, 120 ms late.",
    );
    heard[6].onset.0 -= 0.22;
    says_in_tempo(
        &heard,
        "All eight right; the third note, E, came 120 ms late, and the seventh note, D, 100 ms early.",
    );
}

#[test]
fn who_slows_down_from_a_note_on_is_told_from_which_and_to_what() {
    // Eighths at a quarter = 120 up to the fifth note, and from there each a tenth longer than the one before: the last at 82.
    let mut heard = plays(&but(&[]), 2.5, EIGHTH);
    let mut at = 2.5;
    for (n, note) in heard.iter_mut().enumerate() {
        (note.onset.0, note.release.0) = (at, at + 0.2);
        at += EIGHTH * 1.1_f64.powi((n as i32 - 3).max(0)) * if n > 3 { 1.04 } else { 1.0 };
    }
    let asked = in_tempo(&LINE);
    let said = super::sentence(&judge(&asked, &heard), &asked, &heard, &reader("violin"), &[]);
    let told = said.split_once("you slowed down from the f");
    let to: f64 = told
        .and_then(|(_, to)| to.split_once("th note on, from quarter = 12")?.1.split_once(" to "))
        .and_then(|(_, to)| to.trim_end_matches('.').parse().ok())
        .unwrap_or(0.0);
    assert!((76.0..94.0).contains(&to), "{said}");
}

#[test]
fn who_steadily_speeds_up_or_slows_down_is_told_so_and_neither_uneven_nor_at_another_pace() {
    // Each eighth shorter than the one before by the same share, from a quarter = 96 to 133, and longer, from 120 to 94.
    let line = |first: f64, by: f64| {
        let mut heard = plays(&but(&[]), 2.5, EIGHTH);
        let mut at = 2.5;
        for (n, note) in heard.iter_mut().enumerate() {
            (note.onset.0, note.release.0) = (at, at + 0.2);
            at += first * by.powi(n as i32);
        }
        heard
    };
    for (first, by, told, paces) in [
        (0.3125, 0.947, "All eight right; you sped up, from quarter = ", [96.0, 133.0]),
        (0.25, 1.042, "All eight right; you slowed down, from quarter = ", [120.0, 94.0]),
    ] {
        let said = of_notes(&in_tempo(&LINE), &line(first, by));
        let numbers =
            said.strip_prefix(told).and_then(|said| said.strip_suffix('.')).and_then(|it| it.split_once(" to "));
        let (from, to) = numbers.unwrap_or_else(|| panic!("{said}"));
        for (pace, heard) in paces.into_iter().zip([from, to]) {
            assert!((heard.parse::<f64>().unwrap() - pace).abs() <= 2.0, "{said}");
        }
    }
}

#[test]
fn a_note_struck_again_is_not_one_too_many() {
    let mut heard = plays(&but(&[]), 2.5, EIGHTH);
    let (mut again, first) = (heard[3], &mut heard[3]);
    first.release.0 = first.onset.0 + 0.09;
    again.onset.0 += 0.12;
    heard.insert(4, again);
    says_in_tempo(&heard, "All eight right, but the fourth note, G, came twice.");
}

#[test]
fn who_drags_within_the_tempo_asked_came_in_on_the_beat_and_is_not_told_to_be_late_throughout() {
    // Eighths at a quarter = 57.5 where 60 was asked, which counts as 60: 3.5 beats last .15 s longer.
    let asked = Expectation { tempo: Tempo(60.0), ..in_tempo(&LINE) };
    let heard = plays(&but(&[]), 2.5, 0.522);
    let said = of_notes(&asked, &heard);
    assert_eq!(said, "All eight right; you came in on the beat and were 154 ms late by the end.");
    assert_eq!(headline(&judge(&asked, &heard), &asked, &heard, &reader("violin")), "dragged");
}

#[test]
fn ahead_of_the_beat_throughout() {
    says_in_tempo(&plays(&but(&[]), 2.42, EIGHTH), "All eight right; about 80 ms early throughout.");
}

#[test]
fn rushed() {
    says_in_tempo(&plays(&but(&[]), 2.5, 0.22), "All eight right; rushed to quarter = 136 where 120 was asked.");
}

#[test]
fn dragged() {
    says_in_tempo(&plays(&but(&[]), 2.5, 0.28), "All eight right; dragged to quarter = 107 where 120 was asked.");
}

#[test]
fn a_free_answer_may_take_its_time_but_hears_how_much() {
    let expected = "All eight right, quick to begin: 0.5 s; slower than asked, quarter = 80 where 120 was asked.";
    says(&plays(&but(&[]), 2.5, 0.375), expected);
}

#[test]
fn a_free_answer_that_runs_ahead() {
    let expected = "All eight right, quick to begin: 0.5 s; played at quarter = 150 where 120 was asked.";
    says(&plays(&but(&[]), 2.5, 0.2), expected);
}

/// The line played right, with so many seconds of standing still before some notes: `(note, seconds)`.
fn standing_still(stands: &[(usize, f64)], start: f64) -> Vec<HeardNote> {
    let mut heard = plays(&but(&[]), start, EIGHTH);
    for (before, by) in stands {
        for note in &mut heard[*before..] {
            (note.onset.0, note.release.0) = (note.onset.0 + by, note.release.0 + by);
        }
    }
    heard
}

#[test]
fn stood_still_within_the_line() {
    let expected = "All eight right, 0.9 s to begin; you stood still before the fifth note, F, for 0.6 s.";
    says(&standing_still(&[(4, 0.6)], 2.9), expected);
}

#[test]
fn stood_still_and_was_not_late_for_anything_else() {
    says_in_tempo(
        &standing_still(&[(4, 0.8)], 2.51),
        "All eight right; you stood still before the fifth note, F, for 0.8 s.",
    );
}

#[test]
fn who_holds_a_note_too_long_does_not_stand_still() {
    let mut heard = standing_still(&[(4, 0.8)], 2.51);
    heard[3].release = heard[4].onset - Seconds(0.03);
    says_in_tempo(&heard, "All eight right; you held the fourth note, G, 0.8 s too long.");
    let asked = in_tempo(&LINE);
    assert_eq!(headline(&judge(&asked, &heard), &asked, &heard, &reader("violin")), "held too long");
}

#[test]
fn a_stop_is_said_in_the_big_line_and_before_a_note_too_many() {
    let mut heard = standing_still(&[(4, 0.8)], 2.9);
    let big = |heard: &[HeardNote]| headline(&judge(&asked(&LINE), heard), &asked(&LINE), heard, &reader("violin"));
    assert_eq!(big(&heard), "stood still");
    let at = heard[6].onset.0;
    for note in &mut heard[6..] {
        (note.onset.0, note.release.0) = (note.onset.0 + EIGHTH, note.release.0 + EIGHTH);
    }
    heard.insert(6, plays(&[70.0], at, EIGHTH).remove(0));
    assert_eq!(big(&heard), "stood still");
    let said = of_notes(&asked(&LINE), &heard);
    assert!(said.contains("one note too many, Bb,") && said.contains("stood still before the fifth note"), "{said}");
}

#[test]
fn stood_still_twice() {
    let expected =
        "All eight right, 0.9 s to begin; you stood still before the third and sixth notes, 0.7 s at the longest.";
    says(&standing_still(&[(2, 0.5), (5, 0.7)], 2.9), expected);
}

#[test]
fn swung_where_straight_was_asked() {
    let mut heard = plays(&but(&[]), 2.5, EIGHTH);
    heard.iter_mut().skip(1).step_by(2).for_each(|note| note.onset = note.onset + Seconds(0.08));
    says_in_tempo(&heard, "All eight right; swung, long to short 1.9 to 1.");
}

#[test]
fn who_swings_from_the_second_bar_on_is_no_uneven_player() {
    let pitches: Vec<i32> = LINE.iter().chain(&LINE).chain(&[60]).copied().collect();
    let asked = in_tempo(&pitches);
    for (from, to, told) in
        [(8, 16, "straight up to the eighth note, swung"), (0, 8, "swung up to the eighth note, straight")]
    {
        let mut heard = plays(&pitches.iter().map(|pitch| f64::from(*pitch)).collect::<Vec<_>>(), 2.5, EIGHTH);
        heard[from..to].iter_mut().skip(1).step_by(2).for_each(|note| note.onset = note.onset + Seconds(0.0833));
        let said = of_notes(&asked, &heard);
        assert_eq!(said, format!("All seventeen right; {told} from the ninth on."));
    }
}

#[test]
fn uneven_fingers() {
    let mut heard = plays(&but(&[]), 2.5, EIGHTH);
    for (note, late) in heard.iter_mut().zip([0.0, 0.06, -0.05, -0.06, 0.06, 0.0, 0.05, -0.06]) {
        note.onset = note.onset + Seconds(late);
    }
    let sentence = of_notes(&in_tempo(&LINE), &heard);
    assert!(sentence.starts_with("All eight right; uneven, notes some "), "{sentence}");
}

#[test]
fn swing_that_was_asked_and_did_not_come_is_said_and_what_came_as_asked_is_not() {
    let swing = Expectation { line: asked(&LINE).line.swung(2.0, Beats(0.0)), ..asked(&LINE) };
    let straight = "All eight right, 0.9 s to begin; played straight where long to short 2.0 to 1 was asked.";
    assert_eq!(of_notes(&swing, &plays(&but(&[]), 2.9, EIGHTH)), straight);
    let mut swung = plays(&but(&[]), 2.9, EIGHTH);
    swung.iter_mut().skip(1).step_by(2).for_each(|note| note.onset.0 += 0.08);
    assert_eq!(of_notes(&swing, &swung), "All eight right, 0.9 s to begin.");
}

#[test]
fn off_beats_that_come_early_limp_whether_even_eighths_were_asked_or_swung_ones() {
    let mut limps = plays(&but(&[]), 2.9, EIGHTH);
    limps.iter_mut().skip(1).step_by(2).for_each(|note| note.onset.0 -= 0.08);
    let limp = "All eight right, 0.9 s to begin; the off-beats came early: short-long, 0.5 to 1 where";
    assert_eq!(of_notes(&asked(&LINE), &limps), format!("{limp} even eighths were asked."));
    let swing = Expectation { line: asked(&LINE).line.swung(2.0, Beats(0.0)), ..asked(&LINE) };
    assert_eq!(of_notes(&swing, &limps), format!("{limp} 2.0 to 1 was asked."));
}

#[test]
fn one_long_last_step_is_a_late_note_and_no_slowing_down_before_it() {
    let scale = [60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 71, 69, 67, 65, 64, 62, 60];
    let mut heard = plays(&scale.map(f64::from), 2.5, EIGHTH);
    // As people play: a few milliseconds to either side.
    for (n, note) in heard.iter_mut().enumerate() {
        let by = Seconds([0.012, -0.009, 0.004, -0.014, 0.008, -0.003][n % 6] + if n == 16 { 0.125 } else { 0.0 });
        (note.onset, note.release) = (note.onset + by, note.release + by);
    }
    let asked = in_tempo(&scale);
    let said = sentence(&judge(&asked, &heard), &asked, &heard, &reader("trumpet"), &[]);
    assert!(said.starts_with("All seventeen right; the seventeenth note, D, came 1"), "{said}");
    assert!(said.ends_with("0 ms late."), "{said}");
}
