use super::*;
use crate::notes::{Ear, EarSettings};
use crate::units::{A440, SampleRate};

/// The tones that the ear hears in an A4 whose pitch swings, and rises over the whole.
fn heard(seconds: f64, rate_hz: f64, extent: f64, rise: f64) -> Vec<HeldTone> {
    bent(seconds, &|t| extent * (std::f64::consts::TAU * rate_hz * t).sin() + rise * (t / seconds - 0.5))
}

/// The tones that the ear hears in an A4 that follows a path of cents.
fn bent(seconds: f64, path: &dyn Fn(f64) -> f64) -> Vec<HeldTone> {
    let rate = SampleRate::DEVICE;
    let settings = EarSettings { rate, lowest: Hertz(150.0), highest: Hertz(1500.0), a4: A440 };
    let (mut ear, mut holding, mut phase) =
        (Ear::new(&settings), std::cell::RefCell::new(HeldToneTracker::default()), 0.0);
    let samples: Vec<f32> = (0..rate.samples(Seconds(seconds + 0.6)))
        .map(|n| {
            let t = n as f64 / rate.per_second();
            phase += std::f64::consts::TAU * 440.0 * (path(t) / 1200.0).exp2() / rate.per_second();
            let level = (t / 0.03).min(1.0) * ((seconds - t) / 0.03).clamp(0.0, 1.0);
            (level * (0.2 * phase.sin() + 0.1 * (2.0 * phase).sin() + 0.05 * (3.0 * phase).sin())) as f32
        })
        .collect();
    ear.hear(&samples, &mut |frame| holding.borrow_mut().frame(frame, A440), &mut |event| {
        holding.borrow_mut().note(event);
    });
    holding.get_mut().held().to_vec()
}

#[test]
fn a_tone_held_for_a_minute_tells_its_centre_its_drift_and_its_vibrato() {
    let tones = heard(60.0, 5.5, 30.0, 12.0);
    assert_eq!(tones.len(), 1, "{tones:?}");
    let tone = tones[0];
    assert!((tone.centre.0 - 69.0).abs() < 0.02, "{tone:?}");
    assert!((tone.drift.0 - 12.0).abs() < 1.5, "{tone:?}");
    let vibrato = tone.vibrato.expect("it swings");
    assert!((vibrato.rate.0 - 5.5).abs() < 0.1 && (vibrato.extent.0 - 30.0).abs() < 1.5, "{vibrato:?}");
}

#[test]
fn every_usual_vibrato_is_told_by_its_own_rate_and_extent() {
    for quarters in 16..=32 {
        let rate = f64::from(quarters) / 4.0;
        let vibrato = heard(4.0, rate, 40.0, 0.0)[0].vibrato.expect("it swings");
        assert!((vibrato.rate.0 - rate).abs() < 0.1 && (vibrato.extent.0 - 40.0).abs() < 2.0, "{rate}: {vibrato:?}");
    }
}

#[test]
fn a_straight_tone_has_no_vibrato_and_a_sagging_one_only_drift() {
    let straight = heard(4.0, 5.5, 0.0, 0.0)[0];
    assert!(straight.vibrato.is_none() && straight.drift.0.abs() < 0.5 && straight.spread.0 < 1.0, "{straight:?}");
    let sagging = heard(8.0, 5.5, 0.0, -20.0)[0];
    assert!(sagging.vibrato.is_none() && (sagging.drift.0 + 20.0).abs() < 1.5, "{sagging:?}");
}

#[test]
fn a_tone_that_sags_at_its_end_or_scoops_in_is_told_so_and_drifts_no_more_for_it() {
    let sagging = bent(4.0, &|t| -40.0 * ((t - 3.5) / 0.5).max(0.0))[0];
    let ends = sagging.ends.expect("it sags");
    assert!((ends.by.0 + 38.0).abs() < 4.0 && (0.3..0.6).contains(&ends.lasting.0), "{sagging:?}");
    assert!(sagging.begins.is_none() && sagging.drift.0.abs() < 2.0, "{sagging:?}");
    let scooping = bent(4.0, &|t| -47.0 * (1.0 - t / 0.3).max(0.0))[0];
    let begins = scooping.begins.expect("it scoops");
    assert!((begins.by.0 + 42.0).abs() < 8.0 && (0.15..0.4).contains(&begins.lasting.0), "{scooping:?}");
    assert!(scooping.ends.is_none() && scooping.drift.0.abs() < 2.0, "{scooping:?}");
}

#[test]
fn a_tone_that_swings_or_drifts_to_its_very_end_neither_scoops_nor_sags() {
    for phase in 0..8 {
        let at = std::f64::consts::TAU * f64::from(phase) / 8.0;
        let swing = |t: f64| 45.0 * (std::f64::consts::TAU * 5.2 * t + at).sin() - 30.0 * t / 6.0;
        let tone = bent(6.0, &swing)[0];
        assert!(tone.begins.is_none() && tone.ends.is_none(), "{tone:?}");
        assert!((tone.drift.0 + 30.0).abs() < 2.0, "{tone:?}");
    }
}

#[test]
fn a_tone_steady_and_then_sinking_is_told_by_its_legs_and_wavers_no_more_for_it() {
    let late = bent(6.0, &|t| -25.0 * (t - 4.0).max(0.0))[0];
    let [Some(first), Some(last), None] = late.legs else { panic!("{late:?}") };
    assert!(first.by.0.abs() < 2.0 && (first.lasting.0 - 4.0).abs() < 0.2, "{late:?}");
    assert!((last.by.0 + 50.0).abs() < 3.0 && (late.drift.0 + 50.0).abs() < 3.0, "{late:?}");
    assert!(late.begins.is_none() && late.ends.is_none() && late.spread.0 < 2.0, "{late:?}");
    let step = bent(6.0, &|t| if t < 3.0 { 0.0 } else { -30.0 })[0];
    let [Some(_), Some(falls), Some(_)] = step.legs else { panic!("{step:?}") };
    assert!(falls.lasting.0 < 0.3 && (falls.by.0 + 30.0).abs() < 3.0 && step.begins.is_none(), "{step:?}");
    let straight = heard(6.0, 5.5, 0.0, -60.0)[0];
    assert!(straight.legs[1].is_none() && straight.spread.0 < 1.0, "{straight:?}");
}

#[test]
fn a_slow_wave_is_no_attack_and_no_end() {
    for (rate, extent) in [(2.5, 30.0), (1.0, 20.0)] {
        let tone = heard(5.0, rate, extent, 0.0)[0];
        let wave = tone.wave.expect("it goes in a wave");
        assert!((wave.rate.0 - rate).abs() < 0.05 && (wave.extent.0 - extent).abs() < 2.5, "{tone:?}");
        assert!(tone.begins.is_none() && tone.ends.is_none() && tone.vibrato.is_none(), "{tone:?}");
    }
}

#[test]
fn a_tone_that_swells_once_and_comes_back_stands_at_both_ends() {
    let tone = bent(5.0, &|t| 25.0 * (-((t - 2.5) / 0.5).powi(2)).exp())[0];
    let swell = tone.swell.expect("it swells");
    assert!((swell.by.0 - 25.0).abs() < 2.0 && (swell.at.0 - 2.5).abs() < 0.1, "{tone:?}");
    assert!((1.0..2.0).contains(&swell.lasting.0) && tone.drift.0.abs() < 1.0, "{tone:?}");
    assert!((tone.from.0 - 69.0).abs() < 0.02 && tone.legs[1].is_none() && tone.begins.is_none(), "{tone:?}");
}

#[test]
fn a_tone_that_rises_and_falls_over_its_whole_length_is_told_by_two_legs_of_all_that_it_moves() {
    for by in [24.0, -24.0] {
        let tone = bent(4.0, &|t| by * (1.0 - (t - 2.0).abs() / 2.0))[0];
        let [Some(there), Some(back), None] = tone.legs else { panic!("{tone:?}") };
        assert!((there.by.0 - by).abs() < 2.5 && (back.by.0 + by).abs() < 2.5, "{tone:?}");
        assert!((there.lasting.0 - 2.0).abs() < 0.3 && tone.swell.is_none(), "{tone:?}");
    }
}

#[test]
fn a_vibrato_that_grows_is_told_by_its_ends() {
    let tone = bent(6.0, &|t| 12.0 * (t - 2.0).clamp(0.0, 2.0) * (std::f64::consts::TAU * 5.0 * t).sin())[0];
    let (first, last) = tone.vibrato.expect("it swings").thirds;
    assert!(first.0 < 4.0 && (last.0 - 24.0).abs() < 4.0, "{tone:?}");
}

#[test]
fn a_short_note_is_not_held() {
    assert_eq!(heard(1.0, 5.5, 0.0, 0.0), []);
}
