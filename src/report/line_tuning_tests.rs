use super::*;
use crate::cue::Cue;
use crate::music::{ConcertKey, PitchClass, Reading, instrument};
use crate::pattern::{self, Library, Register};
use crate::report::moved::MovedWhere;
use crate::units::{Cents, Decibels, Midi, Seconds, Tempo};
use crate::verdict::{self, Expectation, TimeOrigin, UsualTuning};

/// What is said of the intonation of a five-note row up and down in sounding C, each note so many cents off.
fn told(off: &dyn Fn(usize) -> f64, moved: &[NoteMoved]) -> Vec<String> {
    told_of("five-note-row-up-and-down", off, moved)
}

/// The same of another pattern.
fn told_of(pattern: &str, off: &dyn Fn(usize) -> f64, moved: &[NoteMoved]) -> Vec<String> {
    let page = Page::new(instrument("flute").unwrap().clone(), Reading::default());
    let pattern = Library::builtin().find(pattern).unwrap();
    let key = ConcertKey(PitchClass::new(0));
    let (register, line) =
        pattern::nearest_register(pattern, key, &Register::ALL, page.instrument.advanced, Some(Midi(74.0))).unwrap();
    let cue = Cue::new(pattern, key, register, Tempo(96.0), line);
    let note = |(n, asked): (usize, &crate::pattern::ExpectedNote)| HeardNote {
        number: n as u32,
        onset: Seconds(1.0 + asked.at.0 * 0.625),
        release: Seconds(1.29 + asked.at.0 * 0.625),
        pitch: Midi(f64::from(asked.pitch.0) + off(n) / 100.0),
        spread: Some(Cents(1.0)),
        loudness: Decibels(-20.0),
        confidence: 0.95,
        announced: Seconds(1.0),
        announced_pitch: Midi(60.0),
    };
    let heard: Vec<HeardNote> = cue.line.notes.iter().enumerate().map(note).collect();
    let asked = Expectation {
        line: cue.line.clone(),
        tempo: cue.tempo,
        clock: TimeOrigin::Free { cue_end: Seconds(0.0) },
        delay: Some(Seconds(0.0)),
        intonation: page.instrument.intonation,
        usual: UsualTuning::Unknown,
    };
    line_tuning(&page, &cue, &heard, moved, &verdict::judge(&asked, &heard), TuningFaults::Untold)
}

#[test]
fn a_note_thirty_flat_in_a_right_line_is_told_as_in_a_run() {
    assert_eq!(told(&|_| 0.0, &[]), [""; 0]);
    let said = told(&|n| if n == 4 { -30.0 } else { 0.0 }, &[]);
    assert_eq!(said, ["Off by more than 20 cents, no fault up to 35: G, 30 flat."]);
    // Further off than half a half step it is still the note that was asked, as in the sentence.
    let said = told(&|n| if n == 4 { 52.0 } else { 0.0 }, &[]);
    assert_eq!(said, ["Out of tune (the bound is 35 cents): G, 52 sharp."]);
}

#[test]
fn a_note_out_of_tune_by_the_verdict_stands_apart_from_one_that_is_not_yet() {
    let said = told(&|n| [0.0, 0.0, 0.0, -25.0, 40.0, -25.0, 0.0, 0.0, 0.0][n], &[]);
    let both = [
        "Out of tune (the bound is 35 cents): G, 40 sharp.",
        "Off by more than 20 cents, no fault up to 35: F, 25 flat each time.",
    ];
    assert_eq!(said, both);
}

#[test]
fn the_first_and_the_last_note_of_a_line_that_comes_home_are_two_notes() {
    let last = told(&|n| if n == 8 { -42.0 } else { 0.0 }, &[]);
    assert_eq!(last, ["Out of tune (the bound is 35 cents): the ninth note, C, 42 flat."]);
    let first = told(&|n| if n == 0 { 25.0 } else { 0.0 }, &[]);
    assert_eq!(first, ["Off by more than 20 cents, no fault up to 35: the first note, C, 25 sharp."]);
    let both = told(&|n| [45.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -46.0][n], &[]);
    let said = "Out of tune (the bound is 35 cents): the ninth note, C, 46 flat; the first note, C, 45 sharp.";
    assert_eq!(both, [said]);
}

#[test]
fn a_line_that_is_flat_as_a_whole_is_told_what_to_do_about_it() {
    let said = ["The whole line lies 30 cents flat: once warm, move the head joint in a little."];
    assert_eq!(told(&|_| -30.0, &[]), said);
    assert_eq!(told(&|_| -12.0, &[]), [""; 0]);
}

#[test]
fn where_all_is_flat_but_one_note_that_note_is_not_called_sharp() {
    assert_eq!(told(&|n| if n == 4 { 0.0 } else { -45.0 }, &[]), [""; 0]);
}

#[test]
fn a_line_that_sinks_over_its_length_is_told_to_fall() {
    let said = told(&|n| -5.0 * n as f64, &[]);
    assert_eq!(said, ["Falling by 40 cents from first to last, give or take 1."]);
}

#[test]
fn a_last_note_that_sags_and_one_that_scoops_are_named() {
    let by = |n| match n {
        4 => (25.0, MovedWhere::AtFirst),
        8 => (-40.0, MovedWhere::Throughout),
        _ => (0.0, MovedWhere::Throughout),
    };
    let moved: Vec<NoteMoved> =
        (0..9).map(|number| NoteMoved { number, by: Cents(by(number).0), place: by(number).1 }).collect();
    let said = told(&|_| 0.0, &moved);
    assert_eq!(said, ["The ninth note, C, sags by 40 while it sounds.", "G begins 25 flat and rises into its pitch."]);
}

#[test]
fn of_two_notes_an_octave_apart_the_one_that_sags_is_named_by_its_place() {
    let moved = [NoteMoved { number: 8, by: Cents(-40.0), place: MovedWhere::Throughout }];
    let said = told_of("major-scale-to-the-9th-and-back", &|_| 0.0, &moved);
    assert_eq!(said, ["The ninth note, D, sags by 40 while it sounds."]);
    let said = told_of("major-scale-to-the-9th-and-back", &|n| if n == 8 { -45.0 } else { 0.0 }, &[]);
    assert_eq!(said, ["Out of tune (the bound is 35 cents): the ninth note, D, 45 flat."]);
}

#[test]
fn a_fall_that_begins_before_the_turn_is_no_way_down() {
    let from_the_top = told(&|n| if n < 4 { 0.0 } else { -27.0 }, &[]);
    assert_eq!(from_the_top, ["From the fifth note, G, on, everything lies 27 cents lower than before."]);
    let after_the_top = told(&|n| if n < 5 { 0.0 } else { -27.0 }, &[]);
    assert_eq!(after_the_top, ["Going down, everything lies 27 cents lower than going up."]);
}

#[test]
fn a_line_that_climbs_in_thirds_has_no_way_down() {
    let said = told_of("diatonic-thirds-up", &|n| -3.6 * n as f64, &[]);
    assert!(said[0].starts_with("Falling by ") && !said[0].contains("way down"), "{said:?}");
    assert!(said[0].contains("as the line goes one way only"), "{said:?}");
}
