//! The table of intonation, compared with runs and tones that are computed, so that their pitches are known exactly. A half step is 100
//! cents of equal temperament at A4 = 440 Hz (ISO 16:1975). With `EARFIRST_PROGRAM` another build of the program is measured with the
//! same sounds. `--nocapture` shows the figures before they are compared with a bound.

use std::f64::consts::TAU;
use std::path::PathBuf;
use std::process::Command;

use serde_json::Value;

use crate::chance::Chance;

const RATE: f64 = 48_000.0;
/// A clarinet's written Ab3 to Ab4, up and down: 24 cells, and the first note.
const LOW: i32 = 54;
const STEPS: usize = 12;

/// A tone of five partials whose pitch follows a path of cents from a note.
fn tone(out: &mut Vec<f64>, midi: f64, seconds: f64, cents: &dyn Fn(f64) -> f64) {
    let mut phase = 0.0;
    for n in 0..(seconds * RATE) as usize {
        let t = n as f64 / RATE;
        phase += TAU * 440.0 * ((midi - 69.0 + cents(t) / 100.0) / 12.0).exp2() / RATE;
        let level = 0.2 * (t / 0.02).min(1.0) * ((seconds - t) / 0.03).clamp(0.0, 1.0);
        let partials = [1.0, 0.5, 0.35, 0.2, 0.1].iter().zip(1..);
        out.push(level * partials.map(|(size, k)| size * (f64::from(k) * phase).sin()).sum::<f64>());
    }
}

fn silence(out: &mut Vec<f64>, seconds: f64) {
    out.resize(out.len() + (seconds * RATE) as usize, 0.0);
}

/// What the program says of a sound, with the noise of a room at -70 dB added (Knuth's MMIX generator).
fn heard(name: &str, sound: &[f64]) -> Value {
    heard_cut(name, sound, 1.0)
}

/// What the program says of the same sound in a file that is cut off after this share of its bytes.
fn heard_cut(name: &str, sound: &[f64], share: f64) -> Value {
    let mut state = 751u64;
    let mut noise = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        1.1e-3 * ((state >> 11) as f64 / (1u64 << 53) as f64 - 0.5)
    };
    let file: PathBuf = std::env::temp_dir().join(format!("earfirst-table-{}-{name}.wav", std::process::id()));
    let samples = sound.iter().map(|s| ((s + noise()) * 32_767.0) as i16);
    let format = hound::WavSpec {
        channels: 1,
        sample_rate: RATE as u32,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(&file, format).unwrap();
    samples.for_each(|sample| wav.write_sample(sample).unwrap());
    wav.finalize().unwrap();
    let whole = std::fs::read(&file).unwrap();
    std::fs::write(&file, &whole[..(whole.len() as f64 * share) as usize]).unwrap();
    let program = std::env::var("EARFIRST_PROGRAM").unwrap_or_else(|_| env!("CARGO_BIN_EXE_earfirst").to_owned());
    let told = Command::new(program)
        .args(["hear", "--instrument", "clarinet", "--json", "--file"])
        .arg(&file)
        .env("EARFIRST_DATA", std::env::temp_dir().join("earfirst-table-no-settings"))
        .output()
        .unwrap();
    let _ = std::fs::remove_file(&file);
    serde_json::from_slice(&told.stdout).unwrap()
}

/// Twelve half steps up and down in single notes.
struct Played {
    /// The cents by which each note was played off, with a median of 0.
    own: Vec<f64>,
    told: Value,
}

fn play(offset: f64, deviation: f64, drift: f64, seed: u64) -> Played {
    let mut chance = Chance::new(seed);
    let count = 2 * STEPS + 1;
    let mut own: Vec<f64> = (0..count).map(|_| chance.normal(deviation).clamp(-25.0, 25.0)).collect();
    let mut sorted = own.clone();
    sorted.sort_by(f64::total_cmp);
    own.iter_mut().for_each(|cents| *cents -= sorted[STEPS]);
    let mut sound = Vec::new();
    silence(&mut sound, 0.5);
    for (n, own) in own.iter().enumerate() {
        let line = drift * (n as f64 / (count - 1) as f64 - 0.5);
        tone(&mut sound, f64::from(pitch(n)) + (offset + own + line) / 100.0, 0.4, &|_| 0.0);
        silence(&mut sound, 0.05);
    }
    silence(&mut sound, 1.0);
    Played { own, told: heard(&format!("run-{seed}"), &sound) }
}

fn pitch(n: usize) -> i32 {
    LOW + if n <= STEPS { n as i32 } else { (2 * STEPS - n) as i32 }
}

impl Played {
    /// The errors of the cells of the table, in cents, and how many cells are empty or have another note's figure.
    fn cells(&self) -> (Vec<f64>, usize) {
        let rows = self.told["run"]["pitches"].as_array().unwrap();
        let cell = |n: usize| {
            let row = rows.iter().find(|row| row["midi"].as_f64() == Some(f64::from(pitch(n))))?;
            row[if n <= STEPS { "up_cents" } else { "down_cents" }].as_f64()
        };
        let errors: Vec<f64> = (1..self.own.len())
            .filter_map(|n| Some((cell(n)? - self.own[n]).abs()))
            .filter(|off| *off < 25.0)
            .collect();
        let wrong = self.own.len() - 1 - errors.len();
        (errors, wrong)
    }
}

/// The median of the errors, their 95th percentile, and the largest.
fn figures(errors: &mut [f64]) -> (f64, f64, f64) {
    errors.sort_by(f64::total_cmp);
    let at = |share: f64| errors[((errors.len() - 1) as f64 * share) as usize];
    (at(0.5), at(0.95), at(1.0))
}

#[test]
fn from_forty_cents_flat_to_forty_sharp_every_cell_holds_its_note() {
    for offset in [-40.0, -20.0, 0.0, 20.0, 40.0] {
        let (mut errors, mut wrong) = (Vec::new(), 0);
        for seed in 9511..9513 {
            let (more, bad) = play(offset, 9.0, 0.0, seed).cells();
            errors.extend(more);
            wrong += bad;
        }
        let told = figures(&mut errors);
        println!("offset {offset:+}: {wrong} of 48 cells wrong or empty; cents off {told:.2?}");
        assert!(wrong == 0 && told.0 <= 0.5 && told.2 <= 3.0, "{offset}: {wrong} wrong, {told:?}");
    }
}

#[test]
fn a_drift_of_twenty_four_cents_is_told_and_is_in_no_cell() {
    for (deviation, bound) in [(0.0, 0.5), (4.0, 8.0)] {
        let (mut errors, mut drifts) = (Vec::new(), Vec::new());
        for (seed, drift) in (9521..).zip([24.0, -24.0, 24.0, -24.0]) {
            let played = play(10.0, deviation, drift, seed);
            errors.extend(played.cells().0);
            drifts.push((played.told["run"]["drift_cents"].as_f64().unwrap() - drift).abs());
        }
        let (cells, drift) = (figures(&mut errors), figures(&mut drifts));
        println!("drift 24, own cents {deviation}: drift off {drift:.2?}, cells off {cells:.2?}");
        assert!(drift.2 <= bound && cells.2 <= 0.5 + bound, "{deviation}: {drift:?} {cells:?}");
    }
}

/// What the program says of one long tone; `None` where it was not heard as one tone.
fn hold(midi: f64, seconds: f64, path: &dyn Fn(f64) -> f64, name: &str) -> Option<Value> {
    let mut sound = Vec::new();
    silence(&mut sound, 0.5);
    tone(&mut sound, midi, seconds, path);
    silence(&mut sound, 0.7);
    let told = heard(name, &sound);
    match told["run"]["held"].as_array().unwrap().as_slice() {
        [tone] => Some(tone.clone()),
        _ => None,
    }
}

#[test]
fn the_drift_of_a_long_tone_is_told_over_whole_turns_of_its_vibrato() {
    let mut chance = Chance::new(9531);
    let (mut errors, mut bends) = (Vec::new(), 0);
    for n in 0..24 {
        let (seconds, rate, drift) = (chance.between(2.2, 8.0), chance.between(4.0, 7.5), chance.between(-30.0, 30.0));
        let (extent, phase) = (chance.pick(&[0.0, 10.0, 25.0, 50.0]), chance.between(0.0, TAU));
        // No two turns are alike: rate and extent wander by a tenth and a fifth (from memory).
        let (wander, slow) = (chance.between(0.2, 0.6), chance.between(0.0, TAU));
        let path = |t: f64| {
            let turn = TAU * rate * t + phase + 0.1 * rate / wander * (TAU * wander * t + slow).sin();
            extent * (1.0 + 0.2 * (TAU * wander * t).cos()) * turn.sin() + drift * (t / seconds - 0.5)
        };
        let midi = f64::from(chance.whole(55, 75));
        let tone = hold(midi, seconds, &path, &format!("tone-{n}")).expect("one tone");
        errors.push((tone["drift_cents"].as_f64().unwrap() - drift).abs());
        bends += usize::from(!tone["begins"].is_null() || !tone["ends"].is_null());
    }
    let told = figures(&mut errors);
    println!("drift of 24 long tones: cents off {told:.2?}; ends told that were straight: {bends}");
    assert!(told.1 <= 2.0 && told.2 <= 4.0 && bends <= 1, "{told:?}, {bends}");
}

#[test]
fn a_sag_of_forty_cents_and_a_scoop_of_forty_seven_are_told() {
    let mut chance = Chance::new(9541);
    let (mut sags, mut scoops) = (0, 0);
    for n in 0..8 {
        let (seconds, rate, extent) =
            (chance.between(2.5, 6.0), chance.between(4.5, 6.5), chance.pick(&[0.0, 15.0, 30.0]));
        let (last, first) = (chance.between(0.25, 0.8), chance.between(0.12, 0.4));
        let midi = f64::from(chance.whole(55, 75));
        let swing = |t: f64| extent * (TAU * rate * t).sin();
        let sag = |t: f64| swing(t) - 40.0 * ((t - seconds + last) / last).clamp(0.0, 1.0);
        let scoop = |t: f64| swing(t) - 47.0 * (1.0 - t / first).clamp(0.0, 1.0);
        let told = |tone: Option<Value>, end: &str| {
            tone.is_some_and(|tone| tone[end]["by_cents"].as_f64() < Some(0.0) && !tone[end].is_null())
        };
        sags += usize::from(told(hold(midi, seconds, &sag, &format!("sag-{n}")), "ends"));
        scoops += usize::from(told(hold(midi, seconds, &scoop, &format!("scoop-{n}")), "begins"));
    }
    println!("told: {sags} of 8 sags, {scoops} of 8 scoops");
    // A scoop of an eighth of a second under a wide vibrato is not told from the vibrato.
    assert!(sags >= 7 && scoops >= 6, "{sags} sags, {scoops} scoops");
}

#[test]
fn a_run_of_hundredths_a_cut_file_and_an_empty_room_are_told_as_they_are() {
    let mut quick = Vec::new();
    silence(&mut quick, 1.0);
    (0..49).for_each(|n| tone(&mut quick, f64::from(LOW + if n <= 24 { n } else { 48 - n }), 0.1, &|_| 0.0));
    silence(&mut quick, 1.0);
    let told = heard("quick", &quick);
    let rows = told["run"]["pitches"].as_array().unwrap().len() as u64;
    assert!(rows == 25 || told["run"]["unclear"].as_u64() >= Some(20), "{told}");
    let cut = heard_cut("cut", &quick, 0.5);
    assert!(cut["opinions"][0].as_str().unwrap().starts_with("the recording is cut off"), "{cut}");
    let mut empty = Vec::new();
    silence(&mut empty, 5.0);
    let told = heard("empty", &empty);
    assert_eq!(told["opinions"][0], "no note was heard in this recording");
}
