//! One second of sound: the whole ear, from samples to notes, beside single detectors of the pitch-detection crate that only
//! give frames, at the same hop. Ratios are what counts.
use divan::{Bencher, black_box};
use earfirst::notes::{Ear, EarSettings};
use earfirst::units::{A440, Hertz, SampleRate};
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::mcleod::McLeodDetector;
use pitch_detection::detector::yin::YINDetector;

#[global_allocator]
static COUNT: divan::AllocProfiler = divan::AllocProfiler::system();

const HOP: usize = 128;
const WINDOW: usize = 1024;

fn main() {
    divan::main();
}

/// Eight notes of an arpeggio, one second at 44.1 kHz.
fn second() -> Vec<f32> {
    (0..44_100)
        .map(|n| {
            let t = n as f32 / 44_100.0;
            let f = 220.0 * (f32::from(u8::try_from(n / 5513 * 4).unwrap_or(0)) / 12.0).exp2();
            (1..8).map(|k| (std::f32::consts::TAU * f * k as f32 * t).sin() / k as f32).sum::<f32>() * 0.2
        })
        .collect()
}

#[divan::bench]
fn ear_whole_pipeline(bencher: Bencher) {
    let sound = second();
    let settings = EarSettings { rate: SampleRate::CD, lowest: Hertz(26.0), highest: Hertz(4500.0), a4: A440 };
    let mut ear = Ear::new(&settings);
    bencher.bench_local(|| ear.hear(black_box(&sound), &mut |_| (), &mut |_| ()));
}

#[divan::bench]
fn yin_1024_frames_only(bencher: Bencher) {
    let sound = second();
    let mut yin = YINDetector::new(WINDOW, WINDOW / 2);
    bencher.bench_local(|| {
        for window in black_box(&sound).windows(WINDOW).step_by(HOP) {
            black_box(yin.get_pitch(window, 44_100, 0.0, 0.8));
        }
    });
}

#[divan::bench]
fn mcleod_1024_frames_only(bencher: Bencher) {
    let sound = second();
    let mut mcleod = McLeodDetector::new(WINDOW, WINDOW / 2);
    bencher.bench_local(|| {
        for window in black_box(&sound).windows(WINDOW).step_by(HOP) {
            black_box(mcleod.get_pitch(window, 44_100, 0.0, 0.5));
        }
    });
}
