//! Notes as players shape them: slides into a note, falls off a note, sung consonants and soft tonguing (common practice of jazz phrasing
//! and of singing). Every sound here is computed.

use super::made::{all_said, assert_pitches, heard, line, rate, tone};
use earfirst::outside::notes::NoteEvent;

/// 0 before `from`, 1 after `to`, a raised cosine between.
fn ease(t: f64, from: f64, to: f64) -> f64 {
    0.5 - 0.5 * (std::f64::consts::PI * ((t - from) / (to - from)).clamp(0.0, 1.0)).cos()
}

/// A factor for a level in decibels.
fn db(db: f64) -> f64 {
    10f64.powf(db / 20.0)
}

#[test]
fn a_slide_into_a_note_is_no_note_of_its_own_however_far_below_it_begins() {
    for (target, below, slide_s) in [(50.0, 2.0, 0.11), (57.0, 3.0, 0.12), (62.0, 1.5, 0.14), (70.0, 3.0, 0.15)] {
        let pitch = |t: f64| target - below * (1.0 - (t / slide_s).clamp(0.0, 1.0));
        let notes = heard(&line(rate(44_100), &[tone(rate(44_100), 0.6, pitch, |_| 1.0)], 0.1));
        assert_pitches(&notes, &[target], 4.0);
        assert!((notes[0].onset.0 - 0.3).abs() < 0.01, "{target}: {:?}", notes[0].onset);
    }
}

#[test]
fn a_note_that_falls_away_at_its_end_is_one_note() {
    for (midi, fall) in [(58.0, 3.0), (65.0, 2.0), (72.0, 4.0)] {
        let gone = |t: f64| ((t - 0.4) / 0.13).clamp(0.0, 1.0);
        let sound = tone(rate(44_100), 0.53, |t| midi - fall * gone(t).powf(1.5), |t| db(-22.0 * gone(t)));
        assert_pitches(&heard(&line(rate(44_100), &[sound], 0.2)), &[midi], 4.0);
    }
}

#[test]
fn a_sung_consonant_belongs_to_no_note_and_the_next_begins_with_its_vowel() {
    // Lips or tongue close for 80 ms. Meanwhile the voice is 10 dB softer, sags by a half step and goes on to the new pitch. The onset
    // has to be found within 50 ms, as onsets are counted (Raffel and others, "mir_eval", 2014).
    for (first, then) in [(50.0, 52.0), (57.0, 55.0), (62.0, 67.0)] {
        let shut = |t: f64| ease(t, 0.40, 0.42) - ease(t, 0.48, 0.50);
        let pitch = |t: f64| first + (then - first) * ease(t, 0.42, 0.48) - shut(t);
        let sound = tone(rate(44_100), 1.0, pitch, |t| db(-10.0 * shut(t)));
        let notes = heard(&line(rate(44_100), &[sound], 0.1));
        assert_pitches(&notes, &[first, then], 6.0);
        assert!((notes[1].onset.0 - 0.79).abs() < 0.05, "{first} to {then}: {:?}", notes[1].onset);
    }
}

#[test]
fn softly_tongued_notes_of_one_pitch_are_told_apart_though_the_reed_never_stops() {
    // A gap of 12 dB and 30 ms, the phase going on, eight notes to the second.
    for midi in [52.0, 60.0, 69.0, 77.0] {
        let gap = |t: f64| (-((t % 0.125 - 0.11) / 0.009).powi(2)).exp();
        let sound = tone(rate(44_100), 0.61, |_| midi, |t| db(-12.0 * gap(t)));
        assert_pitches(&heard(&line(rate(44_100), &[sound], 0.1)), &[midi; 5], 4.0);
    }
}

#[test]
fn a_ghosted_note_that_rests_is_a_note_and_is_told_as_soon_as_any_other() {
    // 9 dB under its neighbours and slurred: what is as soft and does not come to rest might be a slide away.
    let steps = [62.0, 64.0, 65.0];
    let level = |t: f64| db(-9.0 * (ease(t, 0.245, 0.255) - ease(t, 0.495, 0.505)));
    let sound = tone(rate(44_100), 0.75, |t| steps[((t / 0.25) as usize).min(2)], level);
    let (_, told) = all_said(&line(rate(44_100), &[sound], 0.1), 441);
    let began: Vec<_> = told.iter().filter(|t| matches!(t, NoteEvent::On(_))).map(|t| *t.note()).collect();
    assert_pitches(&began, &steps, 6.0);
    for note in began {
        assert!(note.announced.0 - note.onset.0 < 0.06, "{note:?}");
    }
}
