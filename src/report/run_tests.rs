use super::*;
use crate::music::{Reading, instrument};
use crate::report::moved::MovedWhere;
use crate::report::run_to_text;
use crate::report::trend::Doubt;
use crate::units::{Cents, Decibels, Midi};
use crate::words::Page;

fn note(at: f64, pitch: f64) -> HeardNote {
    HeardNote {
        number: 0,
        onset: Seconds(at),
        release: Seconds(at + 0.4),
        pitch: Midi(pitch),
        spread: Some(Cents(1.0)),
        loudness: Decibels(-20.0),
        confidence: 0.9,
        announced: Seconds(at),
        announced_pitch: Midi(pitch),
    }
}

fn notes(pitches: impl IntoIterator<Item = f64>) -> Vec<HeardNote> {
    pitches.into_iter().enumerate().map(|(n, pitch)| note(n as f64 * 0.5, pitch)).collect()
}

/// Half steps up from `low` over an octave and down again; `off` gives the cents by which the note of an index is moved.
fn chromatic(low: i32, off: impl Fn(usize) -> f64) -> Vec<HeardNote> {
    let up = (0..=12).chain((0..12).rev());
    notes(up.enumerate().map(|(n, step)| f64::from(low + step) + off(n) / 100.0))
}

/// The words without their line breaks.
fn words(run: &RunIntonation) -> String {
    text(run).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn text(run: &RunIntonation) -> String {
    run_to_text(
        run,
        &Page::new(instrument("trumpet").unwrap().clone(), Reading { concert: true, ..Reading::default() }),
    )
}

#[test]
fn a_horn_that_stands_ten_cents_sharp_is_told_apart_from_one_note_that_is() {
    let run = RunIntonation::of(&notes([60.1, 61.1, 62.1, 63.3, 64.1, 63.3, 62.1, 61.1, 60.1]), &[], &[]);
    assert!((run.offset.unwrap().0 - 10.0).abs() < 0.01);
    let odd = run.rows.iter().find(|row| row.pitch == Concert(63)).unwrap();
    assert!((odd.up.unwrap().0 - 20.0).abs() < 0.01 && (odd.down.unwrap().0 - 20.0).abs() < 0.01);
    let others = run.rows.iter().filter(|row| row.pitch != Concert(63));
    assert!(others.map(|row| row.up.or(row.down).unwrap().0.abs()).all(|off| off < 0.01));
}

#[test]
fn a_horn_forty_cents_sharp_names_its_flat_note_as_it_was_fingered() {
    let run = RunIntonation::of(&chromatic(54, |n| if n == 12 { 40.0 - 46.0 } else { 40.0 }), &[], &[]);
    assert_eq!(run.rows.len(), 13);
    assert!((run.offset.unwrap().0 - 40.0).abs() < 0.01 && run.other.is_none());
    let top = run.rows.last().unwrap();
    assert!(top.pitch == Concert(66) && (top.all.0 + 46.0).abs() < 0.01, "{top:?}");
}

#[test]
fn half_a_step_off_has_two_readings_until_one_note_is_named() {
    let played = chromatic(54, |_| 48.0);
    let run = RunIntonation::of(&played, &[], &[]);
    assert!((run.other.unwrap().0 + 52.0).abs() < 0.01);
    assert!(
        words(&run).contains("is -52: to say which, name your first note: --begins-on Gb3 or G3")
            && !words(&run).contains("but all lie"),
        "{}",
        text(&run)
    );
    let named = RunIntonation::begun_on(&played, &[], &[], Concert(55)).unwrap();
    assert!((named.offset.unwrap().0 + 52.0).abs() < 0.01 && named.other.is_none(), "{named:?}");
    assert_eq!((named.first, named.rows[0].pitch), (Some(Concert(55)), Concert(55)));
    assert!(RunIntonation::begun_on(&played, &[], &[], Concert(57)).is_none(), "a third off is another line");
}

#[test]
fn a_horn_that_warms_up_is_no_note_out_of_tune() {
    let run = RunIntonation::of(&chromatic(54, |n| n as f64 - 12.0 + 7.0), &[], &[]);
    let drift = run.drift.unwrap();
    assert!((drift.by.0 - 24.0).abs() < 0.01 && drift.taken_out && drift.doubt.is_none(), "{drift:?}");
    assert!((run.offset.unwrap().0 - 7.0).abs() < 0.01);
    let cells = run.rows.iter().flat_map(|row| [row.up, row.down]).flatten();
    assert!(cells.map(|cents| cents.0.abs()).fold(0.0, f64::max) < 0.01, "{run:?}");
    let report = text(&run);
    assert!(report.contains("rising by 24 cents from first to last, give or take 1 (taken out below)"), "{report}");
}

#[test]
fn a_way_down_that_lies_lower_is_no_drift() {
    let run = RunIntonation::of(&chromatic(54, |n| if n > 12 { -10.0 } else { 0.0 }), &[], &[]);
    let drift = run.drift.unwrap();
    assert!(!drift.taken_out && drift.by.0.abs() < 1.0, "{drift:?}");
    let ways = run.rows[3].up.unwrap() - run.rows[3].down.unwrap();
    assert!((ways.0 - 10.0).abs() < 0.01, "{:?}", run.rows[3]);
}

#[test]
fn a_line_that_only_rises_leaves_open_whether_it_is_the_high_notes() {
    let run = RunIntonation::of(&notes((0..13).map(|n| 54.0 + 1.02 * f64::from(n))), &[], &[]);
    let drift = run.drift.unwrap();
    assert!(drift.doubt == Some(Doubt::OneWay) && !drift.taken_out && (drift.by.0 - 24.0).abs() < 0.01, "{drift:?}");
    assert!(words(&run).contains("one way only"), "{}", text(&run));
}

#[test]
fn three_notes_at_most_are_given_to_work_on_the_worst_first() {
    let odd = [(3, 18.0), (21, 18.0), (5, -30.0), (19, -30.0), (8, 24.0), (10, 21.0), (14, 21.0)];
    let run =
        RunIntonation::of(&chromatic(54, |n| odd.iter().find(|odd| odd.0 == n).map_or(0.0, |odd| odd.1)), &[], &[]);
    let report = text(&run);
    let wanted = "Three notes to work on, in cents\n  B3    30 flat\n  D4    24 sharp going up, true going down\n  E4    21 sharp\n";
    assert!(report.contains(wanted), "{report}");
    assert!(report.lines().all(|line| line.chars().count() <= 80), "{report}");
}

#[test]
fn the_farthest_note_is_named_by_the_way_on_which_it_lies_so_far() {
    let run = RunIntonation::of(&chromatic(54, |n| if n == 8 { 12.0 } else { 0.0 }), &[], &[]);
    assert!(words(&run).contains("the farthest is D4, 12 sharp going up."), "{}", text(&run));
    // The note is off on both ways alike, so no way is named.
    let run = RunIntonation::of(&chromatic(54, |n| if n == 8 || n == 16 { 12.0 } else { 0.0 }), &[], &[]);
    assert!(words(&run).contains("the farthest is D4, 12 sharp."), "{}", text(&run));
}

#[test]
fn a_way_down_that_is_flat_throughout_is_one_thing_and_no_three_notes() {
    let run = RunIntonation::of(&chromatic(54, |n| if n > 12 { -25.0 } else { 0.0 }), &[], &[]);
    let told = words(&run);
    assert!(told.contains("going down, everything lies 25 cents lower than going up"), "{told}");
    assert!(
        told.contains("beside that, no drift of more than 3 cents"),
        "the last note lies 25 below the first: {told}"
    );
    assert!(
        told.contains("To work on first: the way down as a whole. Beside that, no note lies more than 20 cents off"),
        "{told}"
    );
    assert!(!told.contains("notes to work on"), "{told}");
    // One note that is off besides is named, by what is its own.
    let odd = |n: usize| if n == 5 || n == 19 { 30.0 } else { 0.0 };
    let run = RunIntonation::of(&chromatic(54, |n| odd(n) - if n > 12 { 25.0 } else { 0.0 }), &[], &[]);
    assert!(words(&run).contains("Beside that, one note to work on, in cents B3 30 sharp"), "{}", text(&run));
}

#[test]
fn a_way_is_named_only_where_up_and_down_differ_by_more_than_they_scatter() {
    // Ways that scatter by some cents, as players' do (invented); D4 lies 33 sharp going up and 25 going down.
    let scatter = [4, -3, 6, -5, 1, 7, -6, 2, 33, -1, 5, -7, 0, 3, -4, 6, 25, -2, -5, 7, -6, 4, 1, -3, 2];
    let run = RunIntonation::of(&chromatic(54, |n| f64::from(scatter[n])), &[], &[]);
    let told = words(&run);
    assert!(told.contains("One note to work on, in cents D4 2") && !told.contains("sharp going"), "{told}");
}

#[test]
fn a_player_who_drops_for_the_last_six_notes_is_told_from_which_note_on_and_not_that_he_drifts() {
    let run = RunIntonation::of(&chromatic(54, |n| if n > 18 { -30.0 } else { 0.0 }), &[], &[]);
    let told = words(&run);
    assert!(told.contains("from the twentieth note, B3, on, everything lies 30 cents lower than before"), "{told}");
    assert!(told.contains("To work on first: to hold the pitch with which you begin."), "{told}");
    assert!(!told.contains("falling") && told.contains("Beside that, no note lies more than 20 cents off"), "{told}");
    // Going up only, nobody can tell whether it is the time or the height.
    let run = RunIntonation::of(&chromatic(54, |n| if n > 5 { 25.0 } else { 0.0 })[..13], &[], &[]);
    let told = words(&run);
    assert!(
        told.contains("from the seventh note, C4, on, everything lies 25 cents higher than before; as the"),
        "{told}"
    );
}

#[test]
fn a_scale_that_is_stretched_or_steps_at_the_break_is_told_so_and_no_single_note_is_blamed() {
    let height = |n: usize| if n > 12 { 24 - n } else { n } as f64;
    let run = RunIntonation::of(&chromatic(54, |n| 2.5 * (height(n) - 6.0)), &[], &[]);
    let told = words(&run);
    assert!(told.contains("the higher, the sharper: evenly from 15 flat at Gb3 to 15 sharp at Gb4"), "{told}");
    assert!(told.contains("To work on first: the high notes as a whole, against the low ones. Beside"), "{told}");
    let run = RunIntonation::of(&chromatic(54, |n| if height(n) > 4.5 { 22.0 } else { 0.0 }), &[], &[]);
    let told = words(&run);
    assert!(told.contains("from B3 up, everything lies 22 cents higher than below it"), "{told}");
    assert!(!told.contains("to work on, in cents"), "{told}");
    let run = RunIntonation::of(&chromatic(54, |n| 4.0 * (height(n) - 6.0).max(0.0)), &[], &[]);
    let told = words(&run);
    let wanted = "up to C4 the notes lie alike; above it, the higher the sharper, by 24 cents at Gb4";
    assert!(told.contains(wanted), "{told}");
}

#[test]
fn notes_that_scatter_as_players_do_have_neither_step_nor_stretch() {
    // Single notes with a spread of 9 cents (Knuth's MMIX generator, twelve uniform numbers a note).
    let mut state = 751u64;
    let mut uniform = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    let mut told = 0;
    for _ in 0..100 {
        let off: Vec<f64> = (0..25).map(|_| 9.0 * ((0..12).map(|_| uniform()).sum::<f64>() - 6.0)).collect();
        let run = RunIntonation::of(&chromatic(54, |n| off[n]), &[], &[]);
        told += usize::from(run.step.is_some() || run.over_pitch.is_some());
    }
    assert!(told <= 3, "{told} of 100");
}

#[test]
fn a_horn_that_stands_sharp_is_told_what_to_do_and_not_that_all_is_well() {
    let told = words(&RunIntonation::of(&chromatic(54, |_| 38.0), &[], &[]));
    assert!(told.contains("+38 cents: as a whole 38 sharp; once warm, move the tuning slide out a little"), "{told}");
    assert!(told.contains("No note lies more than 20 cents off the others, but all lie 38 sharp."), "{told}");
}

#[test]
fn a_chromatic_run_with_a_note_left_out_twice_or_wrong_is_told_so() {
    let run = |change: &dyn Fn(&mut Vec<HeardNote>)| {
        let mut played = chromatic(54, |_| 0.0);
        change(&mut played);
        words(&RunIntonation::of(&played, &[], &[]))
    };
    assert!(run(&|played| _ = played.remove(8)).contains("D4 was left out going up."));
    assert!(run(&|played| _ = played.remove(16)).contains("D4 was left out going down."));
    assert!(run(&|played| played.insert(7, played[6])).contains("C4 came twice in a row going up."));
    assert!(run(&|played| played[5].pitch.0 += 1.0).contains("C4 came in place of B3 going up."));
    let turned = run(&|played| played.insert(13, played[12]));
    assert!(!turned.contains("in a row"), "whoever turns may play the highest note again: {turned}");
}

/// How the notes of these places moved, each by so many cents.
fn moving(places: impl IntoIterator<Item = usize>, by: f64) -> Vec<NoteMoved> {
    let one = |n| NoteMoved { number: n as u32, by: Cents(by), place: MovedWhere::Throughout };
    places.into_iter().map(one).collect()
}

fn numbered(mut notes: Vec<HeardNote>) -> Vec<HeardNote> {
    notes.iter_mut().zip(0..).for_each(|(note, number)| note.number = number);
    notes
}

#[test]
fn a_player_whose_notes_all_sag_is_not_told_that_the_room_stands_low() {
    let played = numbered(chromatic(54, |_| -15.0));
    let run = RunIntonation::of(&played, &[], &moving(0..25, -30.0));
    let told = words(&run);
    assert!(told.contains("-15 cents, but most notes sag by 30 while they sound: they begin at 0"), "{told}");
    assert!(!told.contains("the room"), "{told}");
}

#[test]
fn a_note_that_sags_in_a_run_is_told_to_sag() {
    let played = numbered(chromatic(54, |n| if n == 9 || n == 15 { -30.0 } else { 0.0 }));
    let mut moved = moving(0..25, 0.0);
    moved[9].by = Cents(-60.0);
    moved[15].by = Cents(-60.0);
    let told = words(&RunIntonation::of(&played, &[], &moved));
    assert!(told.contains("Eb4 sags by 60 while it sounds, each time."), "{told}");
    moved[15].by = Cents(0.0);
    let told = words(&RunIntonation::of(&played, &[], &moved));
    assert!(told.contains("D#4 sags by 60 while it sounds, only going up."), "{told}");
}

#[test]
fn notes_that_sag_only_from_some_note_on_or_only_going_down_are_told_together() {
    let sags = |from: usize| move |n: usize| if n >= from { -12.5 } else { 0.0 };
    let mut moved = moving(0..25, 0.0);
    moved[15..].iter_mut().for_each(|note| note.by = Cents(-25.0));
    let told = words(&RunIntonation::of(&numbered(chromatic(54, sags(15))), &[], &moved));
    let wanted = "from the sixteenth note, Eb4, on, most notes sag by 25 while they sound: so they lie some 13 cents low; the other notes do not";
    assert!(told.contains(wanted), "{told}");
    assert!(!told.contains("everything") && !told.contains("Eb4 sags") && !told.contains("farthest"), "{told}");
    moved[13..15].iter_mut().for_each(|note| note.by = Cents(-25.0));
    let told = words(&RunIntonation::of(&numbered(chromatic(54, sags(13))), &[], &moved));
    assert!(told.contains("going down, most notes sag by 25 while they sound"), "{told}");
}

#[test]
fn nothing_played_makes_no_table_and_notes_too_short_say_why() {
    assert_eq!(text(&RunIntonation::of(&[], &[], &[])), "");
    let mut short = chromatic(54, |_| 0.0);
    short.iter_mut().for_each(|note| note.release = note.onset + Seconds(0.05));
    assert!(text(&RunIntonation::of(&short, &[], &[])).contains("no table: all 25 notes were too short"));
    assert!(text(&RunIntonation::of(&short[..1], &[], &[])).contains("no table: the one note was too short"));
}

#[test]
fn the_horn_is_explained_only_for_the_notes_to_work_on() {
    // A sounding G3 is a written A3, first and second valves, which run sharp; three notes are farther off than that one.
    let pitches = [54.0, 55.25, 57.0, 58.31, 60.3, 61.65, 63.0, 64.0, 65.0];
    let report = text(&RunIntonation::of(&notes(pitches), &[], &[]));
    assert!(report.contains("Three notes to work on") && !report.contains("Written A3"), "{report}");
}

#[test]
fn a_note_the_horn_pulls_sharp_is_explained_below_the_table() {
    // Sounding C4 is a written D4 on a trumpet in Bb: first and third valves (valve arithmetic: 18 cents sharp).
    let report = text(&RunIntonation::of(&notes([58.0, 60.3, 62.0, 63.0, 64.4, 65.0, 67.0]), &[], &[]));
    let why: Vec<&str> = report.lines().filter(|line| line.starts_with("Written")).collect();
    let wanted = "Written D4: first and third valves run sharp here, by about 18 cents";
    assert!(why.len() == 1 && why[0].starts_with(wanted), "the F sharp is the player's own: {report}");
}

#[test]
fn half_steps_are_named_in_sharps_going_up_in_flats_going_down_and_by_both_where_the_run_goes_both_ways() {
    // Common practice.
    let rows = |pitches: Vec<f64>| {
        let told = text(&RunIntonation::of(&notes(pitches), &[], &[]));
        let rows = told.lines().skip_while(|line| !line.starts_with("note ")).skip(1).take(4);
        rows.filter_map(|row| row.split_whitespace().next().map(str::to_owned)).collect::<Vec<_>>().join(" ")
    };
    let up: Vec<f64> = (60..=64).map(f64::from).collect();
    assert_eq!(rows(up.clone()), "C4 C#4 D4 D#4");
    assert_eq!(rows(up.iter().rev().copied().collect()), "C4 Db4 D4 Eb4");
    assert_eq!(rows(up.iter().chain(up.iter().rev()).copied().collect()), "C4 C#/Db4 D4 D#/Eb4");
}

#[test]
fn two_notes_of_one_name_that_lie_apart_are_told_as_two() {
    // A quarter of a half step apart, which a listener hears at once (common practice).
    let said =
        |cents: &[f64]| words(&RunIntonation::of(&notes(cents.iter().map(|cents| 69.0 + cents / 100.0)), &[], &[]));
    assert!(
        said(&[8.0, -17.0]).contains("one pitch, A4, twice: first +8, then -17 cents, 25 cents apart"),
        "{}",
        said(&[8.0, -17.0])
    );
    let five = said(&[0.0, 4.0, -6.0, 9.0, 1.0]);
    assert!(five.contains("A4, five times: 0, +4, -6, +9 and +1 cents, up to 15 cents apart"), "{five}");
    let many = said(&[0.0, 4.0, -6.0, 9.0, 1.0, 2.0, 3.0]);
    assert!(many.contains("A4, seven times: from -6 to +9 cents, 15 cents apart, the middle one +2"), "{many}");
    assert!(said(&[2.0, 4.0]).contains("one pitch: A4, +3 cents"), "{}", said(&[2.0, 4.0]));
}

#[test]
fn tuning_that_rises_and_falls_again_is_told_as_that_and_not_as_low_notes_or_a_drift() {
    // Two waves of a row up and down; 24 cents sharper in the middle of the time, or in the middle of the height.
    let row = [60.0, 62.0, 64.0, 65.0, 67.0, 65.0, 64.0, 62.0];
    let line = || row.into_iter().chain(row).chain([60.0]).enumerate();
    let arch = |n: usize| 0.24 * (std::f64::consts::PI * n as f64 / 16.0).sin();
    let said = words(&RunIntonation::of(&notes(line().map(|(n, pitch)| pitch + arch(n))), &[], &[]));
    assert!(said.contains("rising by 24 cents up to") && said.contains("and falling again by 24"), "{said}");
    let high = RunIntonation::of(&notes(line().map(|(_, pitch)| pitch + 0.034 * (pitch - 60.0))), &[], &[]);
    assert!(high.arch.is_none(), "{:?}", high.arch);
    let even = RunIntonation::of(&chromatic(60, |n| 2.0 * (12.0 - (n as f64 - 12.0).abs())), &[], &[]);
    assert!(even.arch.is_none() && even.over_pitch.is_some(), "{even:?}");
}
