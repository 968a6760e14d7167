//! What is said of a hand that slipped.

use super::places::came_as;
use super::tests::{EIGHTH, LINE, but, in_tempo, key, of_notes, plays, reader};
use crate::music::Concert;
use crate::verdict::judge;
use crate::words::reader::Reader;

/// The major scale to the ninth and back; every note of it is played in time.
const SCALE: [i32; 17] = [60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 71, 69, 67, 65, 64, 62, 60];

#[test]
fn a_hand_that_slips_by_a_step_is_one_mistake_although_other_notes_of_a_scale_would_fit() {
    let slips = |from: usize, to: usize| {
        let played = |(n, pitch): (usize, &i32)| f64::from(*pitch) + if (from..to).contains(&n) { 2.0 } else { 0.0 };
        let heard = plays(&SCALE.iter().enumerate().map(played).collect::<Vec<_>>(), 2.5, EIGHTH);
        of_notes(&in_tempo(&SCALE), &heard)
    };
    for (from, note, right) in [(4, "fifth", "Four"), (7, "eighth", "Seven"), (12, "thirteenth", "Twelve")] {
        assert_eq!(
            slips(from, 17),
            format!("{right} of seventeen: from the {note} note on you were a whole step high.")
        );
    }
    let back = slips(4, 9);
    assert_eq!(back, "Twelve of seventeen: five notes, from the fifth on, were a whole step high.");
    let begun = slips(0, 4);
    assert_eq!(begun, "Thirteen of seventeen: the first four notes were a whole step high.");
    assert_eq!(slips(0, 3), "Fourteen of seventeen: the first, second and third notes were a whole step high.");
}

#[test]
fn a_hand_that_slips_along_the_scale_is_a_scale_step_off_and_left_nothing_out() {
    // The white key below each note, from the fifth to the last, and the one above it, of four notes in the middle.
    let low = [60, 62, 64, 65, 65, 67, 69, 71, 72, 71, 69, 67, 65, 64, 62, 60, 59];
    let high = [60, 62, 64, 65, 67, 69, 71, 74, 76, 74, 72, 69, 67, 65, 64, 62, 60];
    let said = |played: [i32; 17]| of_notes(&in_tempo(&SCALE), &plays(&played.map(f64::from), 2.5, EIGHTH));
    assert_eq!(said(low), "Four of seventeen: from the fifth note on you were a scale step low.");
    assert_eq!(said(high), "Thirteen of seventeen: four notes, from the eighth on, were a scale step high.");
}

#[test]
fn who_begins_right_and_goes_on_half_a_step_off_is_told_from_which_note_on_wherever_that_was() {
    for (from, note, right) in [(1, "second", "One"), (2, "third", "Two"), (4, "fifth", "Four"), (6, "seventh", "Six")]
    {
        let low: Vec<(usize, f64)> = (from..8).map(|n| (n, f64::from(LINE[n]) - 1.0)).collect();
        let said = of_notes(&in_tempo(&LINE), &plays(&but(&low), 2.5, EIGHTH));
        assert_eq!(said, format!("{right} of eight: from the {note} note on you were a half step low."));
    }
    // A wrong first note over a line that is right an octave higher stays one wrong note.
    let high: Vec<(usize, f64)> = (1..8).map(|n| (n, f64::from(LINE[n]) + 12.0)).collect();
    let said = of_notes(&in_tempo(&LINE), &plays(&but(&high), 2.5, EIGHTH));
    assert!(said.starts_with("Seven of eight: the first note, C, came an octave low"), "{said}");
}

#[test]
fn two_notes_that_changed_places_over_a_third_were_exchanged() {
    let swapped = but(&[(2, f64::from(LINE[4])), (4, f64::from(LINE[2]))]);
    let said = of_notes(&in_tempo(&LINE), &plays(&swapped, 2.5, EIGHTH));
    assert_eq!(said, "Six of eight: the third and fifth notes were exchanged.");
}

// A raised note has a sharp and a lowered one a flat; nobody reads an E as Fb (common practice).
#[test]
fn a_note_has_one_name_in_an_answer_and_a_plain_one() {
    let named = |line: &[i32], played: &[f64], key_of: i32, pitches: &[i32]| {
        let asked = in_tempo(line);
        let verdict = judge(&asked, &plays(played, 2.5, EIGHTH));
        let reader = Reader { key: key(key_of), ..reader("violin") };
        let name = |pitch: &i32| came_as(Concert(*pitch), &asked.line, &verdict, &reader).to_string();
        pitches.iter().map(name).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(named(&LINE, &but(&[(3, 68.0), (4, 66.0)]), 0, &[66, 68, 70]), "F#4 G#4 A#4");
    assert_eq!(named(&LINE, &but(&[(1, 61.0), (5, 63.0)]), 0, &[61, 63, 66]), "Db4 Eb4 Gb4");
    let row = [68, 70, 72, 73, 75, 73, 72, 70, 68];
    assert_eq!(named(&row, &row.map(f64::from), 8, &[61, 68, 70, 71, 76]), "Db4 Ab4 Bb4 B4 E5");
}
