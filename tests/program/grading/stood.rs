//! Standing still within a line. It is told once, with its place and its length, and never where the line itself has a wait.

use super::made::{asked, asked_at, note};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::units::{Beats, Seconds, Tempo};
use earfirst::outside::verdict::{Expectation, Finding, Hesitation, TimeOrigin, findings, judge};
use proptest::prelude::*;

const LINE: [i32; 9] = [60, 62, 64, 65, 67, 65, 64, 62, 60];

/// The notes of the line, played at `pace` times its tempo from half a second after the cue on. `late` gives for each note how many beats
/// late it comes.
fn played(asked: &Expectation, pace: f64, late: impl Fn(usize) -> f64) -> Vec<HeardNote> {
    let beat_s = asked.tempo.beat().0 / pace;
    let notes = asked.line.notes.iter().enumerate();
    notes.map(|(place, it)| note(f64::from(it.pitch.0), 2.5 + beat_s * (it.at.0 + late(place)), 0.2 * beat_s)).collect()
}

/// How late each note comes where the player stands still for `beats` beats before one note.
fn standing(before: usize, beats: f64) -> impl Fn(usize) -> f64 {
    move |place| if place >= before { beats } else { 0.0 }
}

fn stood(asked: &Expectation, heard: &[HeardNote]) -> Vec<Hesitation> {
    judge(asked, heard).stood
}

/// The findings about time, except the reflex time.
fn of_time(asked: &Expectation, heard: &[HeardNote]) -> Vec<Finding> {
    let found = findings(&judge(asked, heard), asked);
    found.into_iter().filter(|finding| !matches!(finding, Finding::Reflex(_))).collect()
}

#[test]
fn who_stands_still_before_the_fifth_note_hears_that_and_nothing_of_pace_or_evenness() {
    let asked = asked(&LINE);
    let found = of_time(&asked, &played(&asked, 1.0, standing(4, 2.0)));
    let [Finding::Hesitations(stood)] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(stood.len(), 1);
    assert_eq!(stood[0].before, 4);
    assert!((stood[0].by.0 - 1.0).abs() < 1e-9, "two beats at quarter = 120: {stood:?}");
}

#[test]
fn the_pace_is_that_of_the_notes_before_and_after() {
    let asked = asked(&LINE);
    let verdict = judge(&asked, &played(&asked, 0.75, standing(3, 1.5)));
    assert!((verdict.pace.unwrap().0 - 90.0).abs() < 1e-6, "{:?}", verdict.pace);
    assert!(verdict.evenness.unwrap() < 1e-6, "{:?}", verdict.evenness);
    assert!((verdict.stood[0].by.0 - 1.5 * 60.0 / 90.0).abs() < 1e-9, "{:?}", verdict.stood);
    assert!(verdict.expected.iter().all(|note| note.off_pulse.unwrap().abs().0 < 1e-9));
}

#[test]
fn who_stands_still_in_tempo_is_not_called_late_throughout() {
    let free = asked(&LINE);
    let clock = TimeOrigin::InTempo { cue_end: Seconds(2.0), beat_zero: Seconds(2.5) };
    let asked = Expectation { clock, ..free };
    let heard = played(&asked, 1.0, standing(2, 1.0));
    assert!(judge(&asked, &heard).late.unwrap().abs().0 < 1e-9);
    assert!(matches!(of_time(&asked, &heard).as_slice(), [Finding::Hesitations(_)]));
}

#[test]
fn before_the_second_note_and_before_the_last_it_is_standing_still_too() {
    let asked = asked(&LINE);
    for before in [1, 8] {
        let stood = stood(&asked, &played(&asked, 1.0, standing(before, 1.2)));
        assert_eq!(stood.iter().map(|stood| stood.before).collect::<Vec<_>>(), [before]);
    }
}

#[test]
fn who_stands_still_twice_hears_of_both_places() {
    let asked = asked(&LINE);
    let heard = played(&asked, 1.0, |place| standing(3, 1.0)(place) + standing(6, 1.6)(place));
    let verdict = judge(&asked, &heard);
    assert_eq!(verdict.stood.iter().map(|stood| stood.before).collect::<Vec<_>>(), [3, 6]);
    assert!((verdict.stood[1].by.0 - 0.8).abs() < 1e-9, "{:?}", verdict.stood);
    assert!((verdict.pace.unwrap().0 - 120.0).abs() < 1e-6, "{:?}", verdict.pace);
}

#[test]
fn a_long_note_and_a_dotted_one_that_were_asked_are_played_and_not_stood() {
    let beats = [0.0, 0.5, 2.0, 2.5, 3.0, 6.0, 6.75, 7.0];
    let asked = asked_at(&LINE[..8], &beats, 120.0);
    for pace in [0.7, 1.0, 1.3] {
        assert_eq!(stood(&asked, &played(&asked, pace, |_| 0.0)), []);
    }
    let found = stood(&asked, &played(&asked, 1.0, standing(5, 1.0)));
    assert_eq!(found.iter().map(|stood| stood.before).collect::<Vec<_>>(), [5], "but longer than asked it is");
}

#[test]
fn swing_is_no_standing_still_asked_or_not() {
    let straight = asked(&LINE);
    let off_beat = |late: f64| move |place: usize| if place % 2 == 1 { late } else { 0.0 };
    // Three to one is as far as swing goes (Friberg and Sundstrom 2002, from memory).
    for late in [1.0 / 6.0, 0.25] {
        assert_eq!(stood(&straight, &played(&straight, 0.5, off_beat(late))), []);
    }
    let swung = Expectation { line: straight.line.swung(2.0, Beats(0.0)), ..straight };
    assert_eq!(stood(&swung, &played(&swung, 0.5, |_| 0.0)), []);
    assert_eq!(stood(&swung, &played(&swung, 0.5, off_beat(-1.0 / 6.0))), []);
}

#[test]
fn a_quick_breath_is_no_standing_still_at_any_tempo() {
    // A quarter of a second (common practice).
    for tempo in [50.0, 80.0, 120.0, 200.0] {
        let asked = Expectation { tempo: Tempo(tempo), ..asked(&LINE) };
        assert_eq!(stood(&asked, &played(&asked, 1.0, standing(4, 0.25 * tempo / 60.0))), [], "quarter = {tempo}");
    }
}

#[test]
fn a_last_note_broadened_by_half_is_no_standing_still() {
    let asked = asked(&LINE);
    let broad = |place: usize| [0.0, 0.0, 0.0, 0.0, 0.02, 0.05, 0.1, 0.18, 0.43][place];
    assert_eq!(stood(&asked, &played(&asked, 0.5, broad)), []);
}

#[test]
fn one_late_note_that_is_caught_up_is_no_standing_still() {
    let asked = asked(&LINE);
    let late = |place: usize| if place == 4 { 0.45 } else { 0.0 };
    assert_eq!(stood(&asked, &played(&asked, 0.5, late)), []);
}

#[test]
fn a_note_left_out_leaves_its_time_and_standing_still_beside_it_is_more_than_that() {
    let asked = asked_at(&LINE, &[0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0], 120.0);
    let without = |late: f64| {
        let mut heard = played(&asked, 1.0, standing(5, late));
        heard.remove(4);
        stood(&asked, &heard)
    };
    assert_eq!(without(0.0), []);
    let found = without(1.0);
    assert_eq!(found.len(), 1);
    assert!(found[0].before == 5 && (found[0].by.0 - 0.5).abs() < 1e-9, "{found:?}");
}

#[test]
fn a_note_too_many_that_takes_its_own_time_is_no_standing_still() {
    let asked = asked_at(&LINE, &[0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0], 120.0);
    let mut heard = played(&asked, 1.0, standing(4, 1.0));
    heard.insert(4, note(70.0, 2.5 + 2.0, 0.3));
    assert_eq!(stood(&asked, &heard), []);
    let mut heard = played(&asked, 1.0, standing(4, 3.0));
    heard.insert(4, note(70.0, 2.5 + 2.0, 0.3));
    let found = stood(&asked, &heard);
    assert_eq!(found.iter().map(|stood| stood.before).collect::<Vec<_>>(), [4], "but waiting after it is");
    assert!((found[0].by.0 - 1.0).abs() < 1e-9, "three beats where one is asked: {found:?}");
}

/// The line at `pace` times its tempo, with `too_many` notes put in before one of its notes, which take an eighth each.
fn with_too_many(asked: &Expectation, pace: f64, before: usize, too_many: usize) -> Vec<HeardNote> {
    let beat_s = asked.tempo.beat().0 / pace;
    let mut heard = played(asked, pace, standing(before, 0.5 * too_many as f64));
    let from = heard[before - 1].onset.0;
    let extra = (1..=too_many).map(|n| note(71.0 + n as f64, from + 0.5 * n as f64 * beat_s, 0.2));
    heard.extend(extra);
    heard
}

#[test]
fn a_note_too_many_is_one_fault_and_the_line_has_the_pace_and_evenness_of_the_others() {
    let asked = asked(&LINE);
    for (pace, before, too_many) in [(1.0, 4, 1), (1.3, 3, 1), (0.75, 6, 1), (1.0, 1, 1), (1.0, 5, 2)] {
        let verdict = judge(&asked, &with_too_many(&asked, pace, before, too_many));
        assert_eq!((verdict.right, verdict.extra), (9, too_many as u32));
        assert!((verdict.pace.unwrap().0 - 120.0 * pace).abs() < 1e-6, "{pace}, {before}: {:?}", verdict.pace);
        assert!(verdict.evenness.unwrap() < 1e-6, "{pace}, {before}: {:?}", verdict.evenness);
        assert_eq!(verdict.stood, []);
    }
}

#[test]
fn a_note_too_many_in_tempo_makes_nobody_late_throughout() {
    let clock = TimeOrigin::InTempo { cue_end: Seconds(2.0), beat_zero: Seconds(2.5) };
    let asked = Expectation { clock, ..asked(&LINE) };
    assert!(judge(&asked, &with_too_many(&asked, 1.0, 2, 1)).late.unwrap().abs().0 < 1e-9);
}

#[test]
fn a_short_note_in_between_takes_no_time_and_the_notes_round_it_stay_where_they_are() {
    let asked = asked(&LINE);
    let jitter = |place: usize| 0.04 * [0.3, -1.0, 0.7, 0.2, -0.5, 1.0, -0.8, 0.1, 0.4][place];
    let without = played(&asked, 1.0, jitter);
    let mut with = without.clone();
    with.push(note(73.0, 2.5 + 3.5 * 0.25, 0.1));
    let (without, with) = (judge(&asked, &without), judge(&asked, &with));
    assert_eq!((with.extra, with.pace, with.evenness), (1, without.pace, without.evenness));
}

#[test]
fn three_notes_are_too_few_to_tell_and_four_are_enough() {
    let (three, four) = (asked(&LINE[..3]), asked(&LINE[..4]));
    assert_eq!(stood(&three, &played(&three, 1.0, standing(2, 2.0))), []);
    for before in 1..4 {
        let stood = stood(&four, &played(&four, 1.0, standing(before, 2.0)));
        assert_eq!(stood.len(), 1, "{stood:?}");
        assert!(stood[0].before == before && (stood[0].by.0 - 1.0).abs() < 1e-9, "{stood:?}");
    }
}

#[test]
fn who_stumbles_from_note_to_note_does_not_stand_still_but_plays_unevenly() {
    let asked = asked(&LINE);
    let late = |place: usize| [0.0, 1.0, 1.0, 2.2, 2.2, 3.5, 3.5, 4.8, 4.8][place];
    let verdict = judge(&asked, &played(&asked, 1.0, late));
    assert_eq!(verdict.stood, []);
    assert!(findings(&verdict, &asked).iter().any(|it| matches!(it, Finding::Uneven { .. } | Finding::Pace(_))));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn wherever_a_player_stands_still_it_is_told_and_the_pace_stays(
        steps in prop::collection::vec((1..5i32, 1..5u32), 6..=16),
        (at, late, pace) in (0.0..1.0f64, 0.8..3.0f64, 0.6..1.4f64),
        jitter in prop::collection::vec(-0.03..0.03f64, 16),
    ) {
        let (mut pitch, mut beat) = (55, 0.0);
        let line: Vec<(i32, f64)> = steps.iter().map(|(up, halves)| {
            let here = (pitch, beat);
            (pitch, beat) = (pitch + up, beat + 0.5 * f64::from(*halves));
            here
        }).collect();
        let (pitches, beats): (Vec<i32>, Vec<f64>) = line.into_iter().unzip();
        let asked = asked_at(&pitches, &beats, 80.0);
        let before = 1 + (at * (beats.len() - 1) as f64) as usize;
        let heard = played(&asked, pace, |place| jitter[place] + standing(before, late)(place));
        let verdict = judge(&asked, &heard);
        prop_assert_eq!(verdict.stood.iter().map(|stood| stood.before).collect::<Vec<_>>(), [before]);
        let (by, beat_s) = (verdict.stood[0].by.0, 0.75 / pace);
        // Up to .06 of a beat lies between the jitter of two notes; the pulse of a short line adds as much again.
        prop_assert!((by / beat_s - late).abs() < 0.15, "{by} s");
        prop_assert!((verdict.pace.unwrap().0 / (80.0 * pace) - 1.0).abs() < 0.05, "{:?}", verdict.pace);
    }
}

#[test]
fn two_stops_in_seven_notes_of_mixed_values_are_two_stops_and_no_other_rhythm_or_tempo() {
    let places = [0.0, 1.0, 1.5, 2.0, 3.0, 3.5, 4.0];
    let asked = asked_at(&[65, 67, 69, 70, 72, 70, 67], &places, 100.0);
    let stops = |n: usize| {
        if n < 2 {
            0.0
        } else if n < 4 {
            0.4
        } else {
            1.3
        }
    };
    let heard = asked
        .line
        .notes
        .iter()
        .enumerate()
        .map(|(n, expected)| note(f64::from(expected.pitch.0), 2.5 + 0.6 * expected.at.0 + stops(n), 0.25));
    let heard: Vec<HeardNote> = heard.collect();
    let found = findings(&judge(&asked, &heard), &asked);
    let Some(Finding::Hesitations(stood)) = found.first() else { panic!("{found:?}") };
    let told: Vec<(usize, f64)> = stood.iter().map(|one| (one.before, (10.0 * one.by.0).round() / 10.0)).collect();
    assert_eq!(told, [(2, 0.4), (4, 0.9)]);
    assert_eq!(found.iter().filter(|it| it.is_fault()).count(), 1, "{found:?}");
}
