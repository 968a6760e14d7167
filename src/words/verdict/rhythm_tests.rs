//! Right notes in another rhythm, as a teacher would say it; eight eighths at quarter = 120 unless said otherwise.

use super::tests::{LINE, but, in_tempo, reader};
use super::{headline, in_time, sentence};
use crate::notes::HeardNote;
use crate::units::{Beats, Seconds};
use crate::verdict::{Expectation, Finding, TempoStep, findings, in_time as in_time_of, judge, step};

/// The notes of the line, begun at these places in quarters from beat 0, each held for half of its time.
fn plays(places: &[f64]) -> Vec<HeardNote> {
    let mut heard = super::tests::plays(&but(&[])[..places.len()], 0.0, 0.25);
    let next = places.iter().skip(1).copied().chain([f64::INFINITY]);
    for ((note, at), next) in heard.iter_mut().zip(places).zip(next) {
        let held = 0.25 * (next - at).min(2.0);
        (note.onset, note.release) = (Seconds(2.5 + 0.5 * at), Seconds(2.5 + 0.5 * at + held));
    }
    heard
}

/// The line with its notes at these places, each held to the next or for at most so many beats.
fn asked(places: &[f64], longest: f64) -> Expectation {
    let mut asked = in_tempo(&LINE[..places.len()]);
    let next = places.iter().skip(1).copied().chain([f64::INFINITY]);
    for ((note, at), next) in asked.line.notes.iter_mut().zip(places).zip(next) {
        (note.at, note.length) = (Beats(*at), Beats((next - at).min(longest)));
    }
    asked
}

fn said(asked: &Expectation, places: &[f64]) -> String {
    let heard = plays(places);
    let reader = reader("trumpet");
    sentence(&judge(asked, &heard), asked, &heard, &reader, &[])
}

fn each(distances: &[f64], count: usize) -> Vec<f64> {
    let mut at = 0.0;
    let place = |n: usize| {
        let here = at;
        at += distances[n % distances.len()];
        here
    };
    (0..count).map(place).collect()
}

#[test]
fn even_eighths_played_in_another_rhythm_are_right_notes_in_that_rhythm() {
    let line = in_tempo(&LINE);
    let instead = |distances: &[f64]| said(&line, &each(distances, 8));
    assert_eq!(
        instead(&[0.75, 0.25]),
        "All eight right; another rhythm, a dotted eighth and a sixteenth over and over instead of even eighths."
    );
    assert_eq!(
        instead(&[0.75, 0.75, 0.5]),
        "All eight right; another rhythm, a dotted eighth, a dotted eighth and an eighth over and over instead of even eighths."
    );
    assert_eq!(
        instead(&[1.5, 2.5]),
        "All eight right; another rhythm, a dotted quarter and a half and an eighth over and over instead of even eighths."
    );
    assert_eq!(instead(&[1.0 / 3.0]), "All eight right; another rhythm, even triplets instead of even eighths.");
}

#[test]
fn even_eighths_instead_of_a_rhythm_are_said_to_be_even() {
    let line = asked(&[0.0, 1.0, 1.5, 2.5, 3.0, 4.0, 4.5, 5.5], 2.0);
    assert_eq!(
        said(&line, &each(&[0.5], 8)),
        "All eight right; another rhythm, even eighths instead of a quarter and an eighth over and over."
    );
}

#[test]
fn a_rest_left_out_and_an_off_beat_begun_on_the_beat_are_said_so() {
    let rest = asked(&[0.0, 0.5, 1.0, 1.5, 3.0, 3.5, 4.0, 4.5], 0.5);
    assert_eq!(said(&rest, &each(&[0.5], 8)), "All eight right; the rest after the fourth note was left out.");
    let off = asked(&[0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0], 0.5);
    assert_eq!(
        said(&off, &[0.0, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0]),
        "All eight right; the first note came on the beat, and it stands off the beat."
    );
    assert_eq!(
        said(&off, &each(&[0.5], 8)),
        "All eight right; the line was begun on the beat, and it begins off the beat."
    );
}

#[test]
fn notes_that_take_other_values_than_asked_are_named() {
    let line = asked(&[0.0, 0.5, 1.0, 2.0, 2.5, 3.0, 4.0], 2.0);
    assert_eq!(
        said(&line, &[0.0, 0.5, 1.5, 2.0, 2.5, 3.0, 4.0]),
        "All seven right; another rhythm, the second and third notes took a quarter and an eighth instead of an eighth and a quarter."
    );
}

/// Eighths with some of them longer: `(note, beats)`.
fn longer(count: usize, notes: &[(usize, f64)]) -> Vec<f64> {
    let length = |n: usize| notes.iter().find(|it| it.0 == n).map_or(0.5, |it| it.1);
    (0..count).map(|n| (0..n).map(length).sum()).collect()
}

#[test]
fn one_note_held_too_long_is_that_note_and_no_change_of_all_that_follow() {
    let line = in_tempo(&LINE);
    for (n, note) in ["first", "second", "third", "fourth", "fifth", "sixth", "seventh"].into_iter().enumerate() {
        assert_eq!(
            said(&line, &longer(8, &[(n, 1.0)])),
            format!("All eight right; the {note} note took a quarter instead of an eighth, all else as asked.")
        );
    }
    let heard = plays(&longer(8, &[(3, 1.0)]));
    assert_eq!(headline(&judge(&line, &heard), &line, &heard, &reader("trumpet")), "G late");
}

#[test]
fn who_rests_after_a_note_did_not_hold_it() {
    let line = in_tempo(&LINE);
    let mut heard = plays(&longer(8, &[(3, 1.0)]));
    heard[3].release = heard[3].onset + Seconds(0.125);
    assert_eq!(
        sentence(&judge(&line, &heard), &line, &heard, &reader("trumpet"), &[]),
        "All eight right; you rested for an eighth after the fourth note, all else as asked."
    );
}

#[test]
fn a_last_note_that_is_late_is_no_rest_before_it() {
    let line = in_tempo(&LINE);
    let mut heard = plays(&longer(8, &[(6, 1.0)]));
    heard[6].release = heard[6].onset + Seconds(0.125);
    let told = sentence(&judge(&line, &heard), &line, &heard, &reader("trumpet"), &[]);
    assert!(told.starts_with("All eight right; the eighth note came half a beat late"), "{told}");
}

#[test]
fn two_notes_held_too_long_are_both_named() {
    assert_eq!(
        said(&in_tempo(&LINE), &longer(8, &[(1, 1.0), (5, 1.0)])),
        "All eight right; another rhythm, the second and sixth notes took a quarter instead of an eighth."
    );
}

#[test]
fn who_goes_over_to_quarters_is_told_from_which_note_on() {
    let free = super::tests::asked(&LINE);
    for line in [in_tempo(&LINE), free] {
        for (from, note) in [(2, "third"), (3, "fourth"), (4, "fifth"), (5, "sixth")] {
            let quarters: Vec<(usize, f64)> = (from..8).map(|n| (n, 1.0)).collect();
            let said = said(&line, &longer(8, &quarters));
            let told = format!("another rhythm, from the {note} note on quarters instead of eighths.");
            assert!(said.ends_with(&told), "{said}");
        }
    }
}

#[test]
fn who_goes_on_slower_or_quicker_from_a_note_on_is_told_the_two_paces_and_no_other_note_values() {
    let free = super::tests::asked(&LINE);
    let line = in_tempo(&LINE);
    // Eighths of a quarter = 90, 93 and 99, from the fourth note on, after some of a quarter = 120, or before them.
    for (long, slow) in [(0.5 * 120.0 / 90.0, 90), (0.5 * 120.0 / 93.0, 93), (0.5 * 120.0 / 99.0, 99)] {
        let after: Vec<(usize, f64)> = (3..8).map(|n| (n, long)).collect();
        let before: Vec<(usize, f64)> = (0..3).map(|n| (n, long)).collect();
        for asked in [&line, &free] {
            let told = format!("you slowed down at the fourth note, from quarter = 120 to {slow}.");
            assert!(said(asked, &longer(8, &after)).ends_with(&told), "{}", said(asked, &longer(8, &after)));
            let told = format!("you sped up at the fourth note, from quarter = {slow} to 120.");
            assert!(said(asked, &longer(8, &before)).ends_with(&told), "{}", said(asked, &longer(8, &before)));
        }
    }
    let heard = plays(&longer(8, &[(4, 0.75), (5, 0.75), (6, 0.75)]));
    let verdict = judge(&line, &heard);
    assert_eq!(headline(&verdict, &line, &heard, &reader("trumpet")), "slowed down");
    assert_eq!(step(&verdict, &line, &heard), Some(TempoStep::Stay));
}

#[test]
fn one_pause_in_four_notes_is_a_pause_and_nothing_over_and_over() {
    let line = in_tempo(&LINE[..4]);
    assert_eq!(
        said(&line, &longer(4, &[(1, 2.0)])),
        "All four right; you stood still before the third note, F#, for 0.8 s."
    );
    assert_eq!(
        said(&line, &longer(4, &[(0, 2.1)])),
        "All four right; you stood still before the second note, E, for 0.8 s."
    );
    assert_eq!(
        said(&line, &longer(4, &[(1, 1.0)])),
        "All four right; the second note took a quarter instead of an eighth, all else as asked."
    );
}

#[test]
fn another_rhythm_keeps_the_tempo_where_it_is_and_can_be_looked_at() {
    let (line, heard) = (in_tempo(&LINE), plays(&each(&[0.75, 0.25], 8)));
    let verdict = judge(&line, &heard);
    let found = findings(&verdict, &line);
    assert_eq!(step(&verdict, &line, &heard), Some(TempoStep::Stay));
    assert!(found.iter().any(|it| matches!(it, Finding::Rhythm(_))));
    assert!(!found.iter().any(|it| matches!(it, Finding::Pace(_) | Finding::Uneven { .. } | Finding::Hesitations(_))));
    assert_eq!(
        in_time(&in_time_of(&verdict, &line, &heard, &found)).as_deref(),
        Some("beats asked 1 1.5 2 2.5 3 3.5 4 4.5; played 1 1.8 2 2.8 3 3.8 4 4.8")
    );
}

#[test]
fn swung_eighths_and_a_right_rhythm_are_no_other_rhythm() {
    let line = in_tempo(&LINE);
    for share in [0.5, 0.58, 2.0 / 3.0, 0.71] {
        let heard = plays(&each(&[share, 1.0 - share], 8));
        let found = findings(&judge(&line, &heard), &line);
        assert!(!found.iter().any(|it| matches!(it, Finding::Rhythm(_))), "{share}: {found:?}");
    }
}

#[test]
fn three_eighths_played_as_a_triplet_are_a_triplet_and_no_sixteenths() {
    let third = 1.0 / 3.0;
    let line = in_tempo(&LINE);
    let told =
        "All eight right; another rhythm, the third, fourth and fifth notes came as a triplet instead of eighths.";
    // The rest goes on at once, or where it was asked.
    assert_eq!(said(&line, &longer(8, &[(2, third), (3, third), (4, third)])), told);
    assert_eq!(said(&line, &longer(8, &[(2, third), (3, third), (4, 1.5 - 2.0 * third)])), told);
}

#[test]
fn a_length_without_a_name_is_told_by_how_much_it_was_too_long() {
    let line = asked(&each(&[1.0 / 3.0], 8), 1.0 / 3.0);
    let mut places = each(&[1.0 / 3.0], 8);
    places[1..].iter_mut().for_each(|at| *at += 0.5);
    assert_eq!(said(&line, &places), "All eight right; the first note was half a beat too long, all else as asked.");
}
