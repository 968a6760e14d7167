use crate::learn::{LineNote, Pulse, QuantizedLine, quantize, quantize_unswung};
use crate::music::Concert;
use crate::units::{Seconds, Tempo};

/// Notes at places in eighths at quarter = 120 (a quarter of a second each), moved by some milliseconds.
fn line(places: &[f64], off_ms: &[f64]) -> Vec<LineNote> {
    let at = |n: usize| places[n] * 0.25 + off_ms.get(n).copied().unwrap_or(0.0) / 1000.0;
    let note = |n: usize| LineNote {
        pitch: Concert(60),
        onset: Seconds(at(n)),
        release: Seconds(if n + 1 < places.len() { at(n + 1) - 0.02 } else { at(n) + 0.25 }),
        letters: None,
    };
    (0..places.len()).map(note).collect()
}
fn at(quarters: f64) -> Option<Pulse> {
    Some(Pulse::given(Tempo(quarters)))
}
fn places(rhythm: &QuantizedLine) -> Vec<f64> {
    rhythm.line.notes.iter().map(|note| (note.at.0 * 2.0 * 1e6).round() / 1e6).collect()
}

#[test]
fn even_eighths_are_eighths_whether_the_tempo_is_given_or_not() {
    let eighths = [0.0, 1.0, 2.0, 3.0, 4.0];
    for pulse in [at(120.0), None] {
        let found = quantize(&line(&eighths, &[0.0, 12.0, -9.0, 20.0, 4.0]), pulse).unwrap();
        assert_eq!(places(&found), eighths);
        assert!(found.even() && found.share == 2 && (found.tempo.0 - 120.0).abs() < 6.0, "{found:?}");
    }
}

#[test]
fn triplets_and_dotted_notes_are_distinguished() {
    // A triplet and a quarter; a dotted eighth, a sixteenth and a quarter.
    let triplet = [0.0, 2.0 / 3.0, 4.0 / 3.0, 2.0, 4.0];
    let found = quantize(&line(&triplet, &[0.0, 8.0, -8.0, 5.0, 0.0]), at(120.0)).unwrap();
    assert_eq!(found.share, 3);
    assert!(places(&found).iter().zip(triplet).all(|(found, asked)| (found - asked).abs() < 1e-5));
    let dotted = [0.0, 1.5, 2.0, 4.0];
    let found = quantize(&line(&dotted, &[0.0, -6.0, 6.0, 0.0]), at(120.0)).unwrap();
    assert_eq!((found.share, places(&found)), (4, dotted.to_vec()));
}

#[test]
fn long_and_short_eighths_are_eighths_that_swing() {
    // Two to one, a little less and a little more (up to quarter = 120 soloists are measured near it), from the beat and
    // from the short eighth before it; each note up to 5 ms off.
    let off = [0.0, 4.0, -3.0, 5.0, -4.0, 2.0, 0.0];
    for long in [1.25, 4.0 / 3.0, 1.4] {
        let beat = [0.0, long, 2.0, 2.0 + long, 4.0, 6.0, 6.0 + long];
        for pulse in [at(120.0), None] {
            let found = quantize(&line(&beat, &off), pulse).unwrap();
            assert!(found.swing && found.even() && found.share == 2, "{long}: {found:?}");
            assert_eq!((places(&found), found.pickup.0), (vec![0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 7.0], 0.0), "{long}");
            assert!((found.tempo.0 - 120.0).abs() < 8.0);
            assert!(!quantize_unswung(&line(&beat, &off), pulse).unwrap().swing, "who means a triplet says so");
            assert_eq!(quantize(&line(&beat, &off), Some(found.pulse())).unwrap().line, found.line);
        }
        let short = 2.0 - long;
        let from_off_beat = [0.0, short, short + long, short + 2.0, short + 2.0 + long, short + 4.0];
        let found = quantize(&line(&from_off_beat, &off), at(120.0)).unwrap();
        assert_eq!((found.pickup.0, places(&found)), (0.5, (0..6).map(f64::from).collect()), "{long}");
    }
    // One pair alone, a triplet, a dotted eighth and its sixteenth: no swing.
    for straight in [
        &[0.0, 4.0 / 3.0, 2.0, 4.0][..],
        &[0.0, 2.0 / 3.0, 4.0 / 3.0, 2.0, 10.0 / 3.0, 4.0, 16.0 / 3.0],
        &[0.0, 1.5, 2.0, 3.5, 4.0, 5.5],
    ] {
        assert!(!quantize(&line(straight, &[]), at(120.0)).unwrap().swing, "{straight:?}");
    }
}

// A recorder writes its own tempo into a file, whoever keeps to it.
#[test]
fn eighths_that_swing_at_two_thirds_of_the_tempo_of_their_file_swing_all_the_same() {
    let off = [0.0, 9.0, -8.0, 12.0, -11.0, 7.0, -5.0, 10.0];
    let places: Vec<f64> = (0..12).map(|n| f64::from(n / 2) + f64::from(n % 2) * 2.0 / 3.0).collect();
    for tempo in [66.0, 76.0, 80.0, 84.0, 96.0] {
        let slower: Vec<f64> = places.iter().map(|at| 2.0 * at * 120.0 / tempo).collect();
        let found = quantize(&line(&slower, &off), Some(Pulse::written(Tempo(120.0)))).unwrap();
        assert!(found.swing && (found.tempo.0 / tempo - 1.0).abs() < 0.02, "{tempo}: {found:?}");
    }
}

#[test]
fn a_tempo_a_little_off_the_given_one_is_followed_to_the_end() {
    // Thirty-two eighths at 112 where 120 was given: more than two eighths late at the end.
    let eighths: Vec<f64> = (0..32).map(|n| f64::from(n) * 120.0 / 112.0).collect();
    let found = quantize(&line(&eighths, &[]), at(120.0)).unwrap();
    assert_eq!(places(&found), (0..32).map(f64::from).collect::<Vec<_>>());
    assert!((found.tempo.0 - 112.0).abs() < 0.1);
}

#[test]
fn groups_of_five_and_seven_in_a_file_are_what_they_are() {
    let group = |size: i32| -> Vec<f64> {
        let inside = (0..size).map(|n| 2.0 * f64::from(n) / f64::from(size));
        inside.chain([2.0, 4.0, 5.0, 6.0]).collect()
    };
    let both: Vec<f64> = group(5).into_iter().chain(group(7).into_iter().map(|place| place + 8.0)).collect();
    for (onsets, share) in [(group(5), 10), (group(7), 14), (group(9), 18), (both, 70)] {
        let found = quantize(&line(&onsets, &[]), Some(Pulse::written(Tempo(120.0)))).unwrap();
        assert_eq!((found.share, found.exact, found.swing), (share, true, false));
        assert!(places(&found).iter().zip(&onsets).all(|(found, asked)| (found - asked).abs() < 1e-5), "{found:?}");
        assert_eq!(quantize(&line(&onsets, &[]), Some(found.pulse())).unwrap().line, found.line);
    }
    // In sound the plainer unit is preferred; a file into which somebody played is treated like sound.
    assert_eq!(quantize(&line(&group(5), &[]), at(120.0)).unwrap().share, 4);
    let by_hand =
        quantize(&line(&[0.0, 1.0, 2.0, 3.0, 4.0], &[0.0, 11.3, -8.7, 9.1]), Some(Pulse::written(Tempo(120.0))));
    assert!(by_hand.is_some_and(|found| !found.exact && found.share == 2));
    // Swung eighths that a file has exactly are recognised too.
    let swung =
        quantize(&line(&[0.0, 4.0 / 3.0, 2.0, 10.0 / 3.0, 4.0], &[]), Some(Pulse::written(Tempo(120.0)))).unwrap();
    assert!(swung.swing && swung.share == 2, "{swung:?}");
}

#[test]
fn a_short_note_leaves_a_rest_and_a_loose_one_does_not() {
    let mut played = line(&[0.0, 2.0, 4.0, 5.0], &[]);
    played[0].release = Seconds(0.2);
    played[1].release = Seconds(0.5 + 0.32);
    let found = quantize(&played, at(120.0)).unwrap();
    let lengths: Vec<f64> = found.line.notes.iter().map(|note| note.length.0 * 2.0).collect();
    assert_eq!(lengths, [1.0, 2.0, 1.0, 1.0]);
    // Two notes with silence after the first are quarters, but where eighths are near, a rest of a quarter is written.
    let two = [played[0], played[1]];
    let length =
        |share| quantize(&two, Some(Pulse { share, ..Pulse::given(Tempo(120.0)) })).unwrap().line.notes[0].length.0;
    assert_eq!((length(1), length(2)), (1.0, 0.5));
}

#[test]
fn a_row_played_by_hand_into_a_file_that_says_some_tempo_is_eighths() {
    // Fifteen and thirty milliseconds off, as people stray without a click (Repp 2005, from memory).
    let off = [0.0, 11.0, -14.0, 6.0, -9.0, 15.0, -4.0, 8.0, -12.0];
    for (tempo, heard) in [(72.0, 72.0), (76.0, 76.0), (90.0, 90.0), (100.0, 100.0), (110.0, 110.0), (132.0, 132.0)] {
        let row: Vec<f64> = (0..9).map(|n| f64::from(n) * 120.0 / tempo).collect();
        for far in [1.0, 2.0] {
            let off = off.map(|ms| far * ms);
            for pulse in [None, Some(Pulse::written(Tempo(120.0)))] {
                let found = quantize(&line(&row, &off), pulse).unwrap();
                let even: Vec<f64> = (0..9).map(f64::from).collect();
                assert_eq!((found.share, places(&found)), (2, even), "{tempo} {far} {pulse:?}");
                assert!((found.tempo.0 / heard - 1.0).abs() < 0.08 && found.guessed, "{tempo}: {:?}", found.tempo);
            }
        }
    }
    // Every note as long as five thirty-seconds at the tempo of the file.
    let row: Vec<f64> = (0..9).map(|n| f64::from(n) * 1.25).collect();
    let found = quantize(&line(&row, &[]), Some(Pulse::written(Tempo(120.0)))).unwrap();
    assert_eq!((found.share, found.exact, found.tempo.0.round()), (2, false, 96.0));
    // What the player tells is no guess, and neither is a file that was written.
    for pulse in [at(120.0), Some(Pulse::written(Tempo(120.0)))] {
        assert!(!quantize(&line(&[0.0, 1.0, 2.0, 3.0], &[]), pulse).unwrap().guessed);
    }
    // A rhythm by hand to the beats of the file: a dotted eighth, a sixteenth, two eighths.
    let dotted = [0.0, 1.5, 2.0, 3.0, 4.0, 5.5, 6.0, 7.0, 8.0];
    let by_hand = line(&dotted, &off.map(|ms| 0.7 * ms));
    let found = quantize(&by_hand, Some(Pulse::written(Tempo(120.0)))).unwrap();
    assert_eq!((found.share, places(&found)), (4, dotted.to_vec()));
}

#[test]
fn what_lies_on_no_grid_is_said_to() {
    let found = quantize(&line(&[0.0, 1.0, 2.37, 3.0, 4.44, 5.0], &[]), at(120.0)).unwrap();
    assert!(!found.even() || found.share > 4, "{found:?}");
    assert!(quantize(&[], None).is_none());
    assert_eq!(quantize(&line(&[0.0], &[]), None).unwrap().line.notes.len(), 1);
}

#[test]
fn one_note_that_comes_late_or_a_wait_makes_no_other_note_values_of_the_rest() {
    // Thirteen eighths at quarter = 120, with one or two of them up to .1 s late, the next in time again; or with a wait before one.
    let even: Vec<f64> = (0..13).map(f64::from).collect();
    for (late, by) in [(vec![4], 90.0), (vec![4, 9], 70.0), (vec![12], 90.0), (vec![7], -80.0)] {
        let off: Vec<f64> = (0..13).map(|n| if late.contains(&n) { by } else { [4.0, -6.0, 7.0][n % 3] }).collect();
        for pulse in [at(120.0), None] {
            let found = quantize(&line(&even, &off), pulse).unwrap();
            assert_eq!((found.share, places(&found)), (2, even.clone()), "{late:?} {pulse:?}");
            assert!(!found.even() && late.contains(&(found.furthest - 1)), "{late:?} {pulse:?}: {found:?}");
        }
    }
    let waits: Vec<f64> = even.iter().map(|place| if *place > 5.0 { place + 1.65 } else { *place }).collect();
    let found = quantize(&line(&waits, &[]), None).unwrap();
    assert_eq!(found.share, 2, "{found:?}");
    // A dotted eighth and its sixteenth among eighths are what they are.
    let dotted = [0.0, 1.0, 2.0, 3.0, 4.5, 5.0, 6.0, 7.0, 8.0];
    assert_eq!(places(&quantize(&line(&dotted, &[]), at(120.0)).unwrap()), dotted);
    assert_eq!(
        places(&quantize(&line(&dotted, &[]), None).unwrap()),
        dotted.map(|place| 2.0 * place),
        "or twice as long"
    );
}

#[test]
fn no_line_is_learnt_at_a_tempo_that_nobody_plays() {
    // Notes by chance, from a twentieth of a second to a second apart, as a cat plays: whatever is made of them, its tempo is one.
    let mut chance = 7_u64;
    for _ in 0..300 {
        let mut next = 0.0;
        let onsets: Vec<f64> = (0..12)
            .map(|_| {
                chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                next += 0.2 + 3.8 * ((chance >> 40) as f64 / f64::from(1 << 24)).powi(2);
                next
            })
            .collect();
        let found = quantize(&line(&onsets, &[]), None).unwrap();
        assert!((20.0..=261.0).contains(&found.tempo.0), "{onsets:?}: {:?}", found.tempo);
    }
}
