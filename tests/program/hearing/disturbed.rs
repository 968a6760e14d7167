use super::made::{all_said, assert_pitches, heard, in_a_room, line, noise, note, rate};
use earfirst::outside::sound::Clip;
use earfirst::outside::units::{SampleRate, Seconds};
use std::f64::consts::TAU;

const RATE: SampleRate = SampleRate::CD;
const LINE: [f64; 4] = [60.0, 64.0, 67.0, 72.0];

fn played() -> Clip {
    let mut clip = Clip::silence(RATE, Seconds(0.5));
    let line = line(RATE, &LINE.map(|m| note(RATE, m, 0.2)), 0.03);
    let from = clip.samples.len();
    clip.mix(from, &line.samples);
    clip
}

fn with(clip: &mut Clip, more: impl Fn(usize) -> f64) {
    for (n, sample) in clip.samples.iter_mut().enumerate() {
        *sample += more(n) as f32;
    }
}

#[test]
fn mains_hum_is_no_note_and_hides_none() {
    for hz in [50.0, 60.0] {
        let hum = |n: usize| {
            let t = n as f64 / RATE.per_second();
            0.004 * [(1.0, 1.0), (2.0, 0.5), (3.0, 0.6)].iter().map(|(k, a)| a * (TAU * hz * k * t).sin()).sum::<f64>()
        };
        let mut clip = played();
        with(&mut clip, hum);
        assert_pitches(&heard(&clip), &LINE, 5.0);
        let mut alone = Clip::silence(RATE, Seconds(3.0));
        with(&mut alone, hum);
        assert_pitches(&heard(&alone), &[], 0.0);
    }
}

/// Mains hum of `hz` with these amplitudes of its partials; its mean square has the level `level_db`.
fn hum(hz: f64, partials: &'static [f64], level_db: f64) -> impl Fn(usize) -> f64 {
    let power = 0.5 * partials.iter().map(|a| a * a).sum::<f64>();
    let scale = (10f64.powf(0.1 * level_db) / power).sqrt();
    move |n| {
        let turn = TAU * hz * n as f64 / RATE.per_second();
        let wave = |(k, a): (usize, &f64)| a * ((k + 1) as f64 * turn + k as f64).sin();
        scale * partials.iter().enumerate().map(wave).sum::<f64>()
    }
}

/// The levels of the partials of three hums: as a cable picks it up, as a small microphone passes it on, and as a rectifier makes it
/// (common practice).
const HUMS: [&[f64]; 3] = [&[1.0, 0.5, 0.6, 0.0, 0.25], &[0.25, 1.0, 0.6, 0.3, 0.3, 0.2], &[0.0, 1.0, 0.0, 0.4]];

#[test]
fn a_line_over_loud_hum_is_exactly_its_notes_also_near_the_mains() {
    // A mains keeps its frequency within a few hundredths of a hertz (ENTSO-E: 50 Hz +- .05 in normal operation).
    let lines =
        [[33.0, 35.0, 36.0, 35.0], [45.0, 43.0, 47.0, 47.0], [60.0, 61.0, 60.0, 60.0], [81.0, 84.0, 84.0, 83.0]];
    for (hz, level_db) in [(50.0, -30.0), (49.96, -36.0), (60.0, -36.0), (60.03, -30.0)] {
        for (partials, played) in HUMS.iter().flat_map(|hum| lines.map(|line| (*hum, line))) {
            let mut clip = Clip::silence(RATE, Seconds(0.4));
            let (start, notes) = (clip.samples.len(), played.map(|m| note(RATE, m, 0.25)));
            clip.mix(start, &line(RATE, &notes, 0.03).samples);
            with(&mut clip, hum(hz, partials, level_db));
            assert_pitches(&heard(&clip), &played, 8.0);
        }
    }
}

#[test]
fn hum_that_goes_on_for_long_or_goes_away_is_no_note() {
    let mut clip = Clip::silence(RATE, Seconds(0.5));
    for _ in 0..4 {
        let from = clip.samples.len();
        clip.mix(from, &line(RATE, &LINE.map(|m| note(RATE, m, 0.5)), 0.01).samples);
    }
    let off = clip.samples.len();
    clip.mix(off, &Clip::silence(RATE, Seconds(2.0)).samples);
    let hum = hum(50.04, HUMS[0], -30.0);
    with(&mut clip, |n| if n < off { hum(n) } else { 0.0 });
    let wanted = LINE.repeat(4);
    assert_pitches(&heard(&clip), &wanted, 8.0);
    assert_eq!(all_said(&clip, 441), all_said(&clip, usize::MAX), "however the stream was cut");
}

#[test]
fn clicks_of_a_metronome_are_no_notes() {
    let mut clip = Clip::silence(RATE, Seconds(4.0));
    with(&mut clip, |n| {
        let t = n as f64 / RATE.per_second() % 0.5;
        0.3 * (TAU * 1500.0 * t).sin() * (-t / 0.005).exp()
    });
    assert_pitches(&heard(&clip), &[], 0.0);
}

#[test]
fn a_room_adds_no_notes() {
    assert_pitches(&heard(&in_a_room(&played(), 12.0)), &LINE, 10.0);
}

#[test]
fn clipping_an_offset_and_hiss_leave_the_line_as_it_was() {
    let mut clipped = played();
    clipped.samples.iter_mut().for_each(|s| *s = (*s * 6.0).clamp(-0.9, 0.9));
    assert_pitches(&heard(&clipped), &LINE, 5.0);
    let mut offset = played();
    with(&mut offset, |_| 0.3);
    assert_pitches(&heard(&offset), &LINE, 5.0);
    let mut hissing = played();
    let hiss = noise(hissing.samples.len(), 3);
    with(&mut hissing, |n| 0.01 * f64::from(hiss[n]));
    assert_pitches(&heard(&hissing), &LINE, 8.0);
}

#[test]
fn silence_noise_and_what_is_no_number_are_no_notes() {
    assert_pitches(&heard(&Clip::silence(RATE, Seconds(2.0))), &[], 0.0);
    let broken = [f32::NAN, f32::INFINITY, f32::NEG_INFINITY];
    let samples = (0..40_000).map(|n| broken[n % 3]).collect();
    assert_pitches(&heard(&Clip { rate: RATE, samples }), &[], 0.0);
    let samples = noise(RATE.samples(Seconds(20.0)), 11).iter().map(|s| 0.05 * s).collect();
    assert_pitches(&heard(&Clip { rate: RATE, samples }), &[], 0.0);
}

#[test]
fn ten_minutes_of_noise_are_no_note() {
    let rate = rate(16_000);
    let samples = noise(rate.samples(Seconds(600.0)), 5).iter().map(|s| 0.05 * s).collect();
    assert_pitches(&heard(&Clip { rate, samples }), &[], 0.0);
}

#[test]
fn a_broken_sample_in_a_note_does_not_end_the_hearing() {
    let mut clip = played();
    let at = rate(44_100).samples(Seconds(0.95));
    clip.samples[at] = f32::NAN;
    clip.samples[at + 1] = f32::MAX;
    let notes = heard(&clip);
    assert!(notes.len() >= 4 && notes.iter().any(|n| (n.pitch.0 - 72.0).abs() < 0.05), "{notes:?}");
}

/// Six partials at their full level from the first sample on, as in a recording that begins within a note.
fn already_sounding(midi: f64, length_s: f64) -> Vec<f32> {
    let turn = TAU * 440.0 * ((midi - 69.0) / 12.0).exp2() / RATE.per_second();
    let wave = |n: usize| (1..=6).map(f64::from).map(|k| (k * turn * n as f64 + k).sin() / k).sum::<f64>();
    (0..RATE.samples(Seconds(length_s))).map(|n| (0.2 * wave(n)) as f32).collect()
}

fn in_a_row(sounds: &[&[f32]]) -> Clip {
    let mut clip = Clip::silence(RATE, Seconds(0.0));
    for sound in sounds {
        clip.mix(clip.samples.len(), sound);
    }
    clip
}

#[test]
fn a_note_that_sounds_before_the_ear_listens_is_heard_and_hides_none_after_it() {
    let rest = |length_s: f64| Clip::silence(RATE, Seconds(length_s)).samples;
    for low in (28..66).step_by(6).map(f64::from) {
        for (gap_s, hiss) in [(0.05, 0.0), (0.2, 0.0), (0.5, 0.001), (0.5, 0.0001), (3.0, 0.0)] {
            let (first, next, last) = (already_sounding(low, 0.6), note(RATE, 69.0, 0.4), note(RATE, 64.0, 0.4));
            let mut clip = in_a_row(&[&first, &rest(gap_s), &next, &rest(0.15), &last]);
            let hisses = noise(clip.samples.len(), 3);
            with(&mut clip, |n| hiss * f64::from(hisses[n]));
            assert_pitches(&heard(&clip), &[low, 69.0, 64.0], 5.0);
        }
    }
}

#[test]
fn a_listener_who_comes_in_within_a_line_misses_only_what_is_over() {
    let steps = [45.0, 47.0, 48.0, 50.0, 52.0];
    let played: Vec<f32> = steps.iter().flat_map(|m| note(RATE, *m, 0.3)).collect();
    for late_s in [0.01, 0.02, 0.05, 0.1, 0.15, 0.2, 0.31, 0.4, 0.5] {
        let over = (late_s / 0.3) as usize;
        let clip = in_a_row(&[&played[RATE.samples(Seconds(late_s))..]]);
        assert_pitches(&heard(&clip), &steps[over..], 5.0);
    }
}

#[test]
fn clatter_before_the_first_note_hides_none() {
    // A case put down, a stand moved: as loud as the playing (common practice).
    for (clatter_s, pause_s) in [(0.15, 0.0), (0.2, 0.05), (0.4, 0.3), (0.8, 0.0)] {
        let clatter: Vec<f32> = noise(RATE.samples(Seconds(clatter_s)), 5).iter().map(|s| 0.3 * s).collect();
        let pause = Clip::silence(RATE, Seconds(pause_s)).samples;
        let notes: Vec<f32> = LINE.iter().flat_map(|m| note(RATE, *m, 0.3)).collect();
        assert_pitches(&heard(&in_a_row(&[&clatter, &pause, &notes])), &LINE, 5.0);
    }
}
