use std::f32::consts::TAU;

use super::*;

const RATE: SampleRate = SampleRate::DEVICE;

/// White noise at `level` from Knuth's MMIX generator.
fn noise(seconds: f64, level: f64) -> Vec<f32> {
    let mut state = 9u64;
    let amplitude = Decibels(level).amplitude() * 3f64.sqrt();
    (0..RATE.samples(Seconds(seconds)))
        .map(|_| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (amplitude * (2.0 * (state >> 11) as f64 / (1u64 << 53) as f64 - 1.0)) as f32
        })
        .collect()
}

fn tone(seconds: f64, amplitude: f32) -> Vec<f32> {
    (0..RATE.samples(Seconds(seconds))).map(|n| amplitude * (TAU * 330.0 * n as f32 / 48_000.0).sin()).collect()
}

fn listen(parts: &[Vec<f32>]) -> SoundCheck {
    let mut check = SoundCheck::new(RATE);
    for block in parts.concat().chunks(441) {
        check.hear(block);
    }
    check
}

/// Quiet, playing and quiet again, as a sound check goes.
fn usual(level: f64, amplitude: f32) -> Vec<Vec<f32>> {
    let mut sound = tone(2.0, amplitude);
    sound.iter_mut().zip(noise(2.0, level)).for_each(|(s, n)| *s += n);
    vec![noise(2.0, level), sound, noise(3.0, level)]
}

#[test]
fn a_good_microphone_in_a_quiet_room_draws_no_remark() {
    let check = listen(&usual(-70.0, 0.25));
    assert_eq!(check.issues(), []);
    assert!((check.levels().floor.0 + 70.0).abs() < 1.0);
    assert!((check.levels().peak.0 + 12.0).abs() < 0.1);
}

#[test]
fn soft_clipped_and_noisy_sound_are_distinguished() {
    assert!(matches!(listen(&usual(-75.0, 0.01)).issues()[..], [InputIssue::TooSoft { .. }]));
    assert!(matches!(listen(&usual(-40.0, 0.25)).issues()[..], [InputIssue::Noisy { .. }]));
    let clipped: Vec<f32> = tone(1.0, 2.0).iter().map(|s| s.clamp(-1.0, 1.0)).collect();
    let parts = [noise(2.0, -70.0), clipped, noise(1.0, -70.0)];
    assert!(matches!(listen(&parts).issues()[..], [InputIssue::Clipping { .. }]));
}

#[test]
fn exact_zeros_are_no_room_and_zeros_between_notes_are_a_gate() {
    assert_eq!(listen(&[vec![0.0; 24_000]]).issues(), []);
    assert_eq!(listen(&[vec![0.0; 96_000]]).issues(), [InputIssue::Zeros { lasting: Seconds(2.0) }]);
    let gated = listen(&[tone(1.0, 0.2), vec![0.0; 48_000], tone(1.0, 0.2)]);
    assert!(gated.issues().iter().any(|opinion| matches!(opinion, InputIssue::Gate { .. })));
}

#[test]
fn noise_that_swells_in_every_pause_is_a_gain_control() {
    let swelling: Vec<f32> = noise(3.0, -60.0)
        .iter()
        .enumerate()
        .map(|(n, s)| s * 10f32.powf((n as f32 / 48_000.0).min(2.0) * 8.0 / 20.0))
        .collect();
    let parts = [tone(1.0, 0.3), swelling.clone(), tone(1.0, 0.3), swelling];
    assert!(listen(&parts).issues().iter().any(|opinion| matches!(opinion, InputIssue::GainControl { .. })));
    let steady = [tone(1.0, 0.3), noise(3.0, -60.0), tone(1.0, 0.3), noise(3.0, -60.0)];
    assert_eq!(listen(&steady).issues(), []);
}

#[test]
fn hum_under_the_room_is_named_by_its_mains() {
    let mut quiet = noise(3.0, -75.0);
    for (n, sample) in quiet.iter_mut().enumerate() {
        let turn = TAU * 50.0 * (n % 48_000) as f32 / 48_000.0;
        *sample += 0.002 * (turn.sin() + (2.0 * turn).sin() + (3.0 * turn).sin());
    }
    let issues = listen(&[quiet, tone(1.0, 0.2)]).issues();
    assert!(issues.iter().any(|opinion| matches!(opinion, InputIssue::Hum { mains: Hertz(50.0), .. })), "{issues:?}");
}

#[test]
fn loud_hum_is_hum_and_no_noisy_room_besides() {
    let with_hum = |level: f64| -> Vec<f32> {
        let turn = |n: usize| TAU * 60.0 * (n % 48_000) as f32 / 48_000.0;
        let wave = |t: f32| t.sin() + 0.5 * (2.0 * t).sin() + 0.6 * (3.0 * t).sin() + 0.25 * (5.0 * t).sin();
        noise(3.0, level).iter().enumerate().map(|(n, s)| s + 0.033 * wave(turn(n))).collect()
    };
    // .033^2 / 2 * (1 + .25 + .36 + .0625) is -30.4 dB.
    let issues = listen(&[with_hum(-60.0), tone(1.0, 0.2)]).issues();
    assert!(matches!(issues[..], [InputIssue::Hum { mains: Hertz(60.0), .. }]), "{issues:?}");
    let both = listen(&[with_hum(-40.0), tone(1.0, 0.2)]).issues();
    assert!(matches!(both[..], [InputIssue::Noisy { .. }, InputIssue::Hum { .. }]), "{both:?}");
    let InputIssue::Noisy { floor } = both[0] else { unreachable!("just matched") };
    assert!((floor.0 + 40.0).abs() < 2.0, "{floor:?}");
}

#[test]
fn sound_that_ends_at_eight_thousand_hertz_comes_from_a_headset() {
    // The low-pass at 7.2 kHz is a windowed sinc (301 taps, Blackman window).
    let taps: Vec<f32> = (-150i32..=150)
        .map(|n| {
            let place = (n as f32 + 150.0) / 300.0;
            let window = 0.42 - 0.5 * (TAU * place).cos() + 0.08 * (2.0 * TAU * place).cos();
            let x = TAU * 7200.0 / 48_000.0 * n as f32;
            window * if n == 0 { 0.3 } else { 0.3 * x.sin() / x }
        })
        .collect();
    let narrow = crate::sound::convolve(&noise(3.0, -50.5), &taps);
    let issues = listen(&[narrow, tone(1.0, 0.2)]).issues();
    assert!(issues.contains(&InputIssue::Wireless { above: Hertz(8000.0) }), "{issues:?}");
}

#[test]
fn a_tone_held_without_a_pause_is_not_taken_for_a_noisy_room() {
    let held = |before: f64| {
        let mut sound = tone(30.0, 0.2);
        sound.iter_mut().zip(noise(30.0, -70.0)).for_each(|(s, n)| *s += n);
        listen(&[noise(before, -70.0), sound])
    };
    assert_eq!(held(0.0).issues(), [], "nothing is known of the room");
    let after_silence = held(2.0);
    assert!((after_silence.levels().floor.0 + 70.0).abs() < 1.0, "{:?}", after_silence.levels());
    assert_eq!(after_silence.issues(), []);
}

#[test]
fn of_a_room_that_never_fell_silent_nothing_is_said() {
    // The tone sounds without a pause from first to last: no noise is heard, and a pure tone has nothing above 4 kHz.
    let check = listen(&[tone(3.0, 0.2)]);
    assert!(check.issues().is_empty() && !check.paused(), "{:?}", check.issues());
    assert!(listen(&[noise(1.5, -70.0), tone(1.0, 0.2)]).paused());
}

#[test]
fn a_hall_that_rings_on_between_notes_is_no_noisy_room() {
    // 60 dB in 2.5 s: a concert hall is between 1.5 and 2.5 s (common practice).
    let ring = |n: usize| 0.25 * 10f32.powf(-3.0 * n as f32 / (2.5 * 48_000.0));
    let ringing: Vec<f32> = noise(0.8, 0.0).iter().enumerate().map(|(n, s)| s * ring(n)).collect();
    let parts: Vec<Vec<f32>> = (0..8).flat_map(|_| [tone(0.6, 0.3), ringing.clone()]).collect();
    let check = listen(&parts);
    assert!(!check.paused() && check.levels().floor.0 > -50.0, "{:?}", check.levels());
    assert_eq!(check.issues(), []);
    let hiss = [tone(1.0, 0.3), noise(0.8, -38.0), tone(1.0, 0.3), noise(0.8, -38.0)];
    assert!(matches!(listen(&hiss).issues()[..], [InputIssue::Noisy { .. }]), "noise that stands is still reported");
}

#[test]
fn where_nobody_plays_nothing_is_too_soft() {
    assert_eq!(listen(&[noise(6.0, -65.0)]).issues(), []);
    let mut click = noise(6.0, -65.0);
    click[96_000..96_480].iter_mut().for_each(|s| *s += 0.01);
    assert_eq!(listen(&[click]).issues(), [], "a chair is no playing");
}
