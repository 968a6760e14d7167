//! Cases worked by hand: a line in eighths at quarter = 120, the notes that were heard, and the verdict that is right.

use super::made::{asked, note};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::units::Seconds;
use earfirst::outside::verdict::{Expectation, NoteLabel, PlayedLabel, TimeOrigin, Verdict, judge};

const UP_AND_DOWN: [i32; 8] = [60, 62, 64, 67, 65, 64, 62, 59];

/// Heard notes from `(pitch, place, length)`. Place and length are in eighths, each of which lasts a quarter of a second; place 0 is half a
/// second after the cue.
fn heard(notes: &[(f64, f64, f64)]) -> Vec<HeardNote> {
    notes.iter().map(|&(pitch, place, length)| note(pitch, 2.5 + 0.25 * place, 0.25 * length)).collect()
}

fn straight(pitches: &[f64]) -> Vec<HeardNote> {
    heard(&pitches.iter().enumerate().map(|(i, &pitch)| (pitch, i as f64, 0.88)).collect::<Vec<_>>())
}

fn in_words(verdict: &Verdict) -> (String, String) {
    let expected = |label: NoteLabel| match label {
        NoteLabel::Right => "right".to_owned(),
        NoteLabel::Wrong(by) => format!("wrong{:+}", by.0),
        NoteLabel::Octave(by) => format!("octave{:+}", by.0),
        NoteLabel::Missed => "missed".to_owned(),
        NoteLabel::Merged => "merged".to_owned(),
    };
    let played = |label: &PlayedLabel| match label {
        PlayedLabel::Note => "note",
        PlayedLabel::Extra => "extra",
        PlayedLabel::Artefact => "artefact",
        PlayedLabel::Earlier => "earlier",
    };
    let all: Vec<String> = verdict.expected.iter().map(|note| expected(note.label)).collect();
    (all.join(" "), verdict.played.iter().map(played).collect::<Vec<_>>().join(" "))
}

#[track_caller]
fn check(asked: &Expectation, heard: &[HeardNote], expected: &str, played: &str) -> Verdict {
    let verdict = judge(asked, heard);
    assert_eq!(in_words(&verdict), (expected.to_owned(), played.to_owned()));
    verdict
}

#[test]
fn a_wrong_note_does_not_make_its_neighbours_wrong() {
    let heard = straight(&[60.0, 62.0, 63.0, 67.0, 65.0, 64.0, 62.0, 59.0]);
    let expected = "right right wrong-1 right right right right right";
    let verdict = check(&asked(&UP_AND_DOWN), &heard, expected, "note note note note note note note note");
    assert!(verdict.enough_in_format_1, "one note in eight is forgiven");
}

#[test]
fn a_right_answer_stays_right_whatever_is_played_after_it() {
    let once: Vec<(f64, f64, f64)> =
        UP_AND_DOWN.iter().enumerate().map(|(i, &p)| (f64::from(p), i as f64, 0.88)).collect();
    let expected = "right right right right right right right right";
    let after = [0.0, 7.0, -1.0].map(|up| {
        let again = once.iter().map(|&(pitch, place, length)| (pitch + up, place + 10.0, length));
        once.iter().copied().chain(again).collect::<Vec<_>>()
    });
    for notes in after {
        let verdict = judge(&asked(&UP_AND_DOWN), &heard(&notes));
        assert_eq!(in_words(&verdict).0, expected);
        assert!(verdict.whole() && verdict.shift.0 == 0, "{verdict:?}");
        assert_eq!(verdict.expected[7].heard, Some(7), "the first time counts");
    }
}

#[test]
fn a_line_with_a_wrong_note_that_is_begun_again_is_a_second_attempt() {
    let mut notes: Vec<(f64, f64, f64)> =
        UP_AND_DOWN.iter().enumerate().map(|(i, &p)| (f64::from(p), i as f64, 0.88)).collect();
    let again: Vec<(f64, f64, f64)> =
        notes.iter().map(|&(pitch, place, length)| (pitch, place + 10.0, length)).collect();
    notes[2].0 = 63.0;
    notes.extend(again);
    let verdict = judge(&asked(&UP_AND_DOWN), &heard(&notes));
    assert_eq!((verdict.attempts, verdict.right), (2, 8));
}

#[test]
fn a_note_left_out_is_missed_and_what_follows_is_right() {
    let heard = straight(&[60.0, 62.0, 64.0, 65.0, 64.0, 62.0, 59.0]);
    let expected = "right right right missed right right right right";
    check(&asked(&UP_AND_DOWN), &heard, expected, "note note note note note note note");
}

#[test]
fn a_scoop_from_below_is_no_wrong_note() {
    let mut notes: Vec<(f64, f64, f64)> =
        UP_AND_DOWN.iter().enumerate().map(|(i, &p)| (f64::from(p), i as f64, 0.88)).collect();
    notes[3] = (67.0, 3.2, 0.68);
    notes.insert(3, (65.8, 3.0, 0.2));
    let expected = "right right right right right right right right";
    check(&asked(&UP_AND_DOWN), &heard(&notes), expected, "note note note artefact note note note note note");
}

#[test]
fn a_note_that_cracks_in_two_is_one_note() {
    let mut notes: Vec<(f64, f64, f64)> =
        UP_AND_DOWN.iter().enumerate().map(|(i, &p)| (f64::from(p), i as f64, 0.88)).collect();
    notes[4].2 = 0.4;
    notes.insert(5, (65.0, 4.45, 0.43));
    let expected = "right right right right right right right right";
    check(&asked(&UP_AND_DOWN), &heard(&notes), expected, "note note note note note artefact note note note");
}

#[test]
fn equal_notes_repeated_are_not_pieces_of_one() {
    check(
        &asked(&[60, 60, 62, 62]),
        &straight(&[60.0, 60.0, 62.0, 62.0]),
        "right right right right",
        "note note note note",
    );
}

#[test]
fn equal_notes_held_as_one_are_right_for_pitch() {
    let notes = [(60.0, 0.0, 1.9), (62.0, 2.0, 0.9), (64.0, 3.0, 0.9), (65.0, 4.0, 0.9)];
    let verdict =
        check(&asked(&[60, 60, 62, 64, 65]), &heard(&notes), "right merged right right right", "note note note note");
    assert!(verdict.whole());
}

#[test]
fn a_second_start_is_graded_and_the_first_is_not_held_against_it() {
    let mut notes: Vec<(f64, f64, f64)> =
        [60.0, 62.0, 63.0].iter().enumerate().map(|(i, &p)| (p, i as f64, 0.88)).collect();
    notes.extend(UP_AND_DOWN.iter().enumerate().map(|(i, &p)| (f64::from(p), 6.0 + i as f64, 0.88)));
    let expected = "right right right right right right right right";
    let played = "earlier earlier earlier note note note note note note note note";
    let verdict = check(&asked(&UP_AND_DOWN), &heard(&notes), expected, played);
    assert_eq!(verdict.attempts, 2);
    assert!(
        !verdict.enough_in_format_1 && verdict.reflex.is_some_and(|reflex| !reflex.counted),
        "the first attempt was not whole"
    );
}

#[test]
fn forty_cents_sharp_throughout_is_a_tuning_and_no_fault() {
    let sharp: Vec<f64> = UP_AND_DOWN.iter().map(|&p| f64::from(p) + 0.4).collect();
    let expected = "right right right right right right right right";
    let verdict = check(&asked(&UP_AND_DOWN), &straight(&sharp), expected, "note note note note note note note note");
    assert!(verdict.centre.is_some_and(|centre| (centre.0 - 40.0).abs() < 1e-6));
    assert!(verdict.expected.iter().all(|note| note.cents.is_some_and(|cents| cents.abs().0 < 1e-6)));
}

#[test]
fn notes_too_short_to_tune_have_no_cents() {
    let mut heard = straight(&[60.0, 62.3, 64.0, 65.0]);
    heard[1].spread = None;
    let verdict = check(&asked(&[60, 62, 64, 65]), &heard, "right right right right", "note note note note");
    assert_eq!(verdict.expected[1].cents, None);
    assert!(verdict.expected[0].cents.is_some());
}

#[test]
fn a_note_that_runs_on_over_a_missed_one_is_not_called_out_of_tune() {
    // A half step slurred so softly that both are heard as one, between the two.
    let pitches = [60.0, 62.0, 64.4, 67.0, 69.0];
    let starts = [0.0, 1.0, 2.0, 4.0, 5.0];
    let played = |third: f64| {
        let all = pitches.iter().zip(starts).map(|(&pitch, at)| (pitch, at, if at == 2.0 { third } else { 0.9 }));
        judge(&asked(&[60, 62, 64, 65, 67, 69]), &heard(&all.collect::<Vec<_>>()))
    };
    assert_eq!(played(1.95).expected[3].label, NoteLabel::Missed);
    assert_eq!(played(1.95).expected[2].cents, None);
    assert!(played(0.9).expected[2].cents.is_some_and(|cents| cents.0 > 35.0), "short, it is sharp");
}

#[test]
fn the_measured_delay_is_not_charged_to_the_player() {
    let asked = Expectation { delay: Some(Seconds(0.08)), ..asked(&UP_AND_DOWN) };
    let heard = straight(&UP_AND_DOWN.map(f64::from));
    let reflex = judge(&asked, &heard).reflex.unwrap();
    assert!((reflex.time.0 - 0.42).abs() < 1e-9 && reflex.counted && !reflex.jumped);
}

#[test]
fn under_an_eighth_of_a_second_the_player_guessed() {
    let asked = Expectation { clock: TimeOrigin::Free { cue_end: Seconds(2.39) }, ..asked(&UP_AND_DOWN) };
    let reflex = judge(&asked, &straight(&UP_AND_DOWN.map(f64::from))).reflex.unwrap();
    assert!(reflex.jumped && !reflex.counted);
}

#[test]
fn an_answer_in_tempo_is_late_and_has_no_reflex() {
    let clock = TimeOrigin::InTempo { cue_end: Seconds(2.0), beat_zero: Seconds(2.45) };
    let verdict = judge(&Expectation { clock, ..asked(&UP_AND_DOWN) }, &straight(&UP_AND_DOWN.map(f64::from)));
    assert_eq!(verdict.reflex, None);
    assert!((verdict.late.unwrap().0 - 0.05).abs() < 1e-9);
    assert!((verdict.pace.unwrap().0 - 120.0).abs() < 1e-6);
}

#[test]
fn nothing_heard_is_not_an_attempt() {
    let verdict = check(&asked(&[60, 62]), &[], "missed missed", "");
    assert!(!verdict.related && !verdict.enough_in_format_1);
}
