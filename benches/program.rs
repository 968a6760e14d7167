//! The program as a whole, each figure beside the wanted one: its first screen on a terminal, a recording to notes, and what
//! a drill takes of the machine, live (where a virtual sound card can be had) and while it is paused.
#![allow(clippy::unwrap_used, reason = "a bench that cannot go on stops")]

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use earfirst::outside::files::write_wav;
use earfirst::outside::sound::Clip;
use earfirst::outside::units::SampleRate;
use portable_pty::{Child, CommandBuilder, PtySize, native_pty_system};

const PROGRAM: &str = env!("CARGO_BIN_EXE_earfirst");
const RUNS: usize = 7;
/// Length of the recording, in seconds.
const MINUTE: f64 = 60.0;
/// How long a process is watched.
const WHILE: Duration = Duration::from_secs(20);
/// Units of processor time in a second, everywhere on Linux (time(7)).
const TICKS: f64 = 100.0;

fn main() {
    let folder = std::env::temp_dir().join(format!("earfirst-bench-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let screen = middle(|| first_screen(&folder)).as_secs_f64() * 1000.0;
    println!("first screen of the demo: {screen:.0} ms (wanted: under 150)");
    let take = folder.join("take.wav");
    write_wav(&take, &row()).unwrap();
    let speed = MINUTE / middle(|| notes(&take)).as_secs_f64();
    println!("notes of a minute at 44.1 kHz: {speed:.0} times real time (wanted: at least 100)");
    if !Path::new("/proc/self/stat").exists() {
        return println!("what a drill takes of the machine is measured on Linux only");
    }
    match live_drill(&folder) {
        Some((share, megabytes)) => println!(
            "a live drill: {:.1} % of a core and {megabytes:.0} MB (wanted: under 10 % and 80 MB)",
            100.0 * share
        ),
        None => println!("a live drill: not measured, there is no sound server to be had"),
    }
    println!("a paused demo: {:.1} % of a core (wanted: under 2 %)", 100.0 * paused(&folder));
    std::fs::remove_dir_all(&folder).unwrap();
}

/// The share of a core that a process takes for a while, and its memory at the most, in megabytes (proc(5)).
fn taken(process: u32) -> (f64, f64) {
    let ticks = || -> f64 {
        let stat = std::fs::read_to_string(format!("/proc/{process}/stat")).unwrap();
        // After the name, which stands in brackets: user and system time are the 12th and 13th.
        let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
        fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap()
    };
    let (began, before) = (Instant::now(), ticks());
    std::thread::sleep(WHILE);
    let share = (ticks() - before) / TICKS / began.elapsed().as_secs_f64();
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let most = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap();
    (share, most.split_whitespace().next().unwrap().parse::<f64>().unwrap() / 1024.0)
}

/// What a live drill takes once its cues have begun, as [`taken`] gives it; `None` where no sound server is to be had. Nobody
/// answers.
fn live_drill(folder: &Path) -> Option<(f64, f64)> {
    let scripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/virtual-mic");
    let card = folder.join("card");
    let started = Command::new(scripts.join("start")).arg(&card).output().ok().filter(|told| told.status.success())?;
    let settings = String::from_utf8(started.stdout).unwrap();
    let settings = settings.lines().filter_map(|line| line.strip_prefix("export ")?.split_once('='));
    let mut child = Command::new(PROGRAM)
        .args(["drill", "--plain", "--instrument", "trumpet", "--tempo", "60"])
        .envs(settings.map(|(key, value)| (key, value.trim_matches('\''))))
        .env("EARFIRST_DATA", folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    while !line.contains("listen") && out.read_line(&mut line).unwrap() > 0 {}
    let found = taken(child.id());
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(Command::new(scripts.join("stop")).arg(&card).status().unwrap().success());
    Some(found)
}

/// The share of a core that a paused demo takes on a terminal.
fn paused(folder: &Path) -> f64 {
    let (mut child, mut keys) = on_a_terminal(folder, "listen");
    keys.write_all(b" ").unwrap();
    let (share, _) = taken(child.process_id().unwrap());
    child.kill().unwrap();
    child.wait().unwrap();
    share
}

/// The middle time of several runs.
fn middle(run: impl FnMut() -> Duration) -> Duration {
    let mut times: Vec<Duration> = std::iter::repeat_with(run).take(RUNS).collect();
    times.sort();
    times[RUNS / 2]
}

/// From the start of the program until its first key stands on an 80x24 terminal.
fn first_screen(folder: &Path) -> Duration {
    let began = Instant::now();
    let (mut child, _keys) = on_a_terminal(folder, "listen");
    let taken = began.elapsed();
    child.kill().unwrap();
    child.wait().unwrap();
    taken
}

/// The demo on an 80x24 terminal, once it shows what is wanted, and the keyboard. What comes after is read and thrown away.
fn on_a_terminal(folder: &Path, wanted: &str) -> (Box<dyn Child + Send + Sync>, Box<dyn Write + Send>) {
    let terminal = native_pty_system();
    let pair = terminal.openpty(PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut command = CommandBuilder::new(PROGRAM);
    command.args(["demo", "--seed", "5"]);
    command.env("EARFIRST_DATA", folder);
    command.env("TERM", "xterm-256color");
    let mut reader = pair.master.try_clone_reader().unwrap();
    let (mut screen, mut buffer) = (vt100::Parser::default(), [0; 4096]);
    let child = pair.slave.spawn_command(command).unwrap();
    while !screen.screen().contents().contains(wanted) {
        let count = reader.read(&mut buffer).unwrap();
        screen.process(&buffer[..count]);
    }
    let keys = pair.master.take_writer().unwrap();
    std::thread::spawn(move || {
        let _open = pair;
        while reader.read(&mut buffer).is_ok_and(|count| count > 0) {}
    });
    (child, keys)
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
