//! One line of notes: the whole ear, from samples to notes, beside detectors of the pitch-detection crate at the same hop,
//! frames alone and with a plain segmenter. Time, memory asked for, and what each heard of the notes that were played.
//! Ratios are what counts.
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use earfirst::outside::notes::{Ear, EarSettings, NoteEvent};
use earfirst::outside::units::{A440, Hertz, SampleRate};
use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::mcleod::McLeodDetector;
use pitch_detection::detector::yin::YINDetector;

#[global_allocator]
static COUNT: divan::AllocProfiler = divan::AllocProfiler::system();

const RATE: f64 = 44_100.0;
const HOP: usize = 128;
const WINDOW: usize = 1024;
/// Frames that begin a note, or end it, for the plain segmenter (12 ms).
const AGREE: usize = 4;

/// Onset in seconds and MIDI number.
type Note = (f64, f64);

fn main() {
    let (sound, played) = line();
    let (ear, plain) = (ear_hears(&sound), yin_hears(&sound));
    println!("{} notes played: tongued, slurred, repeated, a bass to a piccolo", played.len());
    println!("  the ear:                {}", account(&played, &ear));
    println!("  YIN 1024 and segmenter: {}", account(&played, &plain));
    divan::main();
}

/// Nearly seven seconds: per register a tongued, a slurred and a repeated group of four notes of .12 s.
fn line() -> (Vec<f32>, Vec<Note>) {
    let (mut sound, mut played, mut phase) = (vec![0.0; 13_230], Vec::new(), 0.0f64);
    let length = (0.12 * RATE) as usize;
    for lowest in [40.0, 52.0, 64.0, 76.0] {
        for (step, slurred) in [(2.0, false), (2.0, true), (0.0, false)] {
            for i in 0..4 {
                let midi = lowest + step * f64::from(i);
                played.push((sound.len() as f64 / RATE, midi));
                for n in 0..length {
                    phase += std::f64::consts::TAU * 440.0 * ((midi - 69.0) / 12.0).exp2() / RATE;
                    let rise = if slurred && i > 0 { 1.0 } else { (n as f64 / 300.0).min(1.0) };
                    let fall = if slurred && i < 3 { 1.0 } else { ((length - n) as f64 / 800.0).min(1.0) };
                    let wave: f64 = (1..8).map(|k| (f64::from(k) * phase).sin() / f64::from(k)).sum();
                    sound.push((0.2 * rise * fall * wave) as f32);
                }
            }
            sound.resize(sound.len() + 1500, 0.0);
        }
    }
    sound.resize(sound.len() + 13_230, 0.0);
    (sound, played)
}

/// How many were found within 50 ms and 50 cents, and how many were heard that were not played.
fn account(played: &[Note], heard: &[Note]) -> String {
    let near = |a: &Note, b: &Note| (a.0 - b.0).abs() <= 0.05 && (a.1 - b.1).abs() <= 0.5;
    let found = played.iter().filter(|p| heard.iter().any(|h| near(p, h))).count();
    format!("{found} of {} found, {} too many", played.len(), heard.len().saturating_sub(found))
}

fn settings() -> EarSettings {
    EarSettings { rate: SampleRate::CD, lowest: Hertz(27.0), highest: Hertz(4300.0), a4: A440 }
}

fn ear_hears(sound: &[f32]) -> Vec<Note> {
    let (mut ear, mut notes) = (Ear::new(&settings()), Vec::new());
    let mut keep = |told: &NoteEvent| {
        if let NoteEvent::Off(note) = told {
            notes.push((note.onset.0, note.pitch.0));
        }
    };
    ear.hear(sound, &mut |_| (), &mut keep);
    ear.finish(&mut |_| (), &mut keep);
    notes
}

/// The plainest way from frames to notes: a pitch that stays within half a half step for `AGREE` frames is a note, until as
/// many frames differ from it or have no pitch. The onset is the middle of the first window.
fn yin_hears(sound: &[f32]) -> Vec<Note> {
    let mut yin = YINDetector::new(WINDOW, WINDOW / 2);
    let (mut notes, mut sounding, mut run, mut off) = (Vec::new(), None, Vec::with_capacity(AGREE), 0);
    for (frame, window) in sound.windows(WINDOW).step_by(HOP).enumerate() {
        let pitch = yin.get_pitch(window, RATE as usize, 1e-3, 0.8);
        let midi = pitch.map(|p| 69.0 + 12.0 * (f64::from(p.frequency) / 440.0).log2());
        let belongs = |to: f64| midi.is_some_and(|m| (m - to).abs() < 0.5);
        off = if sounding.is_none_or(belongs) { 0 } else { off + 1 };
        if off >= AGREE {
            sounding = None;
        }
        match midi {
            Some(m) if run.first().is_none_or(|first: &f64| (m - first).abs() < 0.5) => run.push(m),
            Some(m) => run = vec![m],
            None => run.clear(),
        }
        if run.len() >= AGREE && sounding.is_none() {
            sounding = Some(run[AGREE - 1]);
            notes.push((((frame + 1 - AGREE) * HOP + WINDOW / 2) as f64 / RATE, run[AGREE - 1]));
            run.clear();
        }
    }
    notes
}

#[divan::bench]
fn ear_whole_pipeline(bencher: Bencher) {
    let (sound, _) = line();
    let mut ear = Ear::new(&settings());
    bencher
        .counter(ItemsCount::new(sound.len() / HOP))
        .bench_local(|| ear.hear(black_box(&sound), &mut |_| (), &mut |_| ()));
}

#[divan::bench]
fn yin_1024_and_segmenter(bencher: Bencher) {
    let (sound, _) = line();
    bencher.counter(ItemsCount::new(sound.len() / HOP)).bench_local(|| yin_hears(black_box(&sound)));
}

#[divan::bench]
fn yin_1024_frames_only(bencher: Bencher) {
    let (sound, _) = line();
    let mut yin = YINDetector::new(WINDOW, WINDOW / 2);
    bencher.counter(ItemsCount::new(sound.len() / HOP)).bench_local(|| {
        for window in black_box(&sound).windows(WINDOW).step_by(HOP) {
            black_box(yin.get_pitch(window, 44_100, 0.0, 0.8));
        }
    });
}

#[divan::bench]
fn mcleod_1024_frames_only(bencher: Bencher) {
    let (sound, _) = line();
    let mut mcleod = McLeodDetector::new(WINDOW, WINDOW / 2);
    bencher.counter(ItemsCount::new(sound.len() / HOP)).bench_local(|| {
        for window in black_box(&sound).windows(WINDOW).step_by(HOP) {
            black_box(mcleod.get_pitch(window, 44_100, 0.0, 0.5));
        }
    });
}
