//! The program as a whole, each figure beside the wanted one: its first screen on a terminal, and a recording to notes.
#![allow(clippy::unwrap_used, reason = "a bench that cannot go on stops")]

use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use earfirst::files::write_wav;
use earfirst::sound::Clip;
use earfirst::units::SampleRate;
use portable_pty::{CommandBuilder, PtySize, native_pty_system};

const PROGRAM: &str = env!("CARGO_BIN_EXE_earfirst");
const RUNS: usize = 7;
/// Length of the recording, in seconds.
const MINUTE: f64 = 60.0;

fn main() {
    let folder = std::env::temp_dir().join(format!("earfirst-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let screen = middle(|| first_screen(&folder)).as_secs_f64() * 1000.0;
    println!("first screen of the demo: {screen:.0} ms (wanted: under 150)");
    let take = folder.join("take.wav");
    write_wav(&take, &row()).unwrap();
    let speed = MINUTE / middle(|| notes(&take)).as_secs_f64();
    println!("notes of a minute at 44.1 kHz: {speed:.0} times real time (wanted: at least 100)");
    std::fs::remove_dir_all(&folder).unwrap();
}

/// The middle one of several runs.
fn middle(run: impl FnMut() -> Duration) -> Duration {
    let mut times: Vec<Duration> = std::iter::repeat_with(run).take(RUNS).collect();
    times.sort();
    times[RUNS / 2]
}

/// From the start of the program until its first key stands on an 80x24 terminal.
fn first_screen(folder: &Path) -> Duration {
    let terminal = native_pty_system();
    let pair = terminal.openpty(PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut command = CommandBuilder::new(PROGRAM);
    command.args(["demo", "--seed", "5"]);
    command.env("EARFIRST_DATA", folder);
    command.env("TERM", "xterm-256color");
    let mut reader = pair.master.try_clone_reader().unwrap();
    let (began, mut screen, mut buffer) = (Instant::now(), vt100::Parser::default(), [0; 4096]);
    let mut child = pair.slave.spawn_command(command).unwrap();
    while !screen.screen().contents().contains("listen") {
        let count = reader.read(&mut buffer).unwrap();
        screen.process(&buffer[..count]);
    }
    let taken = began.elapsed();
    child.kill().unwrap();
    child.wait().unwrap();
    taken
}

/// `earfirst notes` from start to end, the reading of the file in it.
fn notes(take: &Path) -> Duration {
    let began = Instant::now();
    let told = Command::new(PROGRAM).arg("notes").arg(take).stdout(Stdio::null()).status().unwrap();
    assert!(told.success());
    began.elapsed()
}

/// A minute of notes of a quarter of a second, up and down two octaves, with seven partials each.
fn row() -> Clip {
    let rate = SampleRate::CD;
    let (length, mut phase) = (rate.per_second() / 4.0, 0.0_f64);
    let samples = (0..(MINUTE * rate.per_second()) as usize).map(|n| {
        let (note, within) = ((n as f64 / length) as i32, n as f64 % length / length);
        let midi = 52 + (note % 48 - 24).abs();
        phase += std::f64::consts::TAU * 440.0 * (f64::from(midi - 69) / 12.0).exp2() / rate.per_second();
        let edge = (within / 0.03).min((0.9 - within).max(0.0) / 0.1).min(1.0);
        let wave: f64 = (1..8).map(|k| (f64::from(k) * phase).sin() / f64::from(k)).sum();
        (0.2 * edge * wave) as f32
    });
    Clip { rate, samples: samples.collect() }
}
