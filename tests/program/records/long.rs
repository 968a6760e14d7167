//! Long recordings, and files that are no recordings.

use std::fs;
use std::io::Write;
use std::process::{Command, Stdio};

use crate::desk::Desk;

/// Writes a WAV file that repeats one second of sound, and hands back its name.
fn wav(desk: &Desk, name: &str, rate: u32, channels: u16, bits: u16, float: bool, seconds: u32) -> String {
    let block = channels * bits / 8;
    let bytes = rate * u32::from(block);
    let mut file = std::io::BufWriter::new(fs::File::create(desk.0.join(name)).unwrap());
    let mut put = |piece: &[u8]| file.write_all(piece).unwrap();
    put(b"RIFF");
    put(&(36 + bytes * seconds).to_le_bytes());
    put(b"WAVEfmt \x10\0\0\0");
    put(&(if float { 3u16 } else { 1 }).to_le_bytes());
    put(&channels.to_le_bytes());
    put(&rate.to_le_bytes());
    put(&bytes.to_le_bytes());
    put(&block.to_le_bytes());
    put(&bits.to_le_bytes());
    put(b"data");
    put(&(bytes * seconds).to_le_bytes());
    let mut second = Vec::new();
    for n in 0..rate {
        // A note of half a second, then nothing.
        let loud = if n < rate / 2 { 0.3 } else { 0.0 };
        let value = loud * (std::f64::consts::TAU * 440.0 * f64::from(n) / f64::from(rate)).sin();
        for _ in 0..channels {
            match (bits, float) {
                (8, _) => second.push((128.0 + 127.0 * value) as u8),
                (32, true) => second.extend((value as f32).to_le_bytes()),
                _ => second.extend(((32_767.0 * value) as i16).to_le_bytes()),
            }
        }
    }
    (0..seconds).for_each(|_| put(&second));
    name.to_owned()
}

/// The most memory that a command used, in megabytes, and what it said.
#[cfg(target_os = "linux")]
fn peak(desk: &Desk, line: &str) -> (f64, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .args(line.split(' '))
        .current_dir(&desk.0)
        .env("EARFIRST_DATA", desk.0.join("data"))
        .stdout(fs::File::create(desk.0.join("said")).unwrap())
        .stderr(Stdio::inherit())
        .spawn()
        .unwrap();
    let mut most = 0.0;
    while child.try_wait().unwrap().is_none() {
        let status = fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
        let high =
            status.lines().find_map(|line| line.strip_prefix("VmHWM:")).and_then(|it| it.split_whitespace().next());
        most = high.and_then(|it| it.parse().ok()).unwrap_or(most);
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    (most / 1000.0, fs::read_to_string(desk.0.join("said")).unwrap())
}

#[cfg(target_os = "linux")]
#[test]
fn a_long_recording_needs_no_more_memory_than_a_short_one() {
    let desk = Desk::new("long");
    let longer = std::env::var_os("EARFIRST_LONGER").is_some();
    // 2 GB of floats, 52 minutes of 8 bits at the highest rate that is read; two minutes of both where time is short.
    let files = if longer {
        [wav(&desk, "floats.wav", 96_000, 2, 32, true, 2600), wav(&desk, "bits.wav", 384_000, 1, 8, false, 52 * 60)]
    } else {
        [wav(&desk, "floats.wav", 96_000, 2, 32, true, 120), wav(&desk, "bits.wav", 384_000, 1, 8, false, 120)]
    };
    for file in &files {
        for command in [
            "notes FILE",
            "hear --file FILE",
            "grade FILE --pattern major-triad-up --key C",
            "patterns learn FILE --print",
        ] {
            if command.starts_with("patterns") && !longer {
                continue;
            }
            let (most, said) = peak(&desk, &command.replace("FILE", file));
            eprintln!("{command} of {file}: {most:.0} MB");
            assert!(most > 1.0 && most < 100.0, "{command} of {file}: {most} MB\n{said}");
        }
    }
}

#[cfg(unix)]
#[test]
fn pipes_devices_and_sockets_are_no_recordings() {
    let desk = Desk::new("pipes");
    let _socket = std::os::unix::net::UnixListener::bind(desk.0.join("socket.wav")).unwrap();
    let made = Command::new("mkfifo").arg(desk.0.join("pipe.wav")).status().unwrap();
    assert!(made.success());
    fs::create_dir(desk.0.join("folder.wav")).unwrap();
    desk.done("patterns export major-triad-up --instrument piano --keys C --musicxml line.musicxml");
    desk.file("chart.txt", b"| C | F | G | C |\n");
    for file in ["socket.wav", "pipe.wav", "folder.wav", "/dev/zero"] {
        for command in [
            "notes FILE",
            "hear --file FILE",
            "grade FILE --pattern major-triad-up --key C",
            "grade --notes FILE --pattern major-triad-up --key C",
            "patterns learn FILE --print",
            "patterns import FILE --name Mine",
            "patterns import line.musicxml --key C --name Mine --save FILE",
            "patterns check FILE",
            "charts check FILE",
            "charts import FILE --name Mine --print",
            "charts import chart.txt --name Mine --save FILE",
            "review FILE",
        ] {
            let (code, said) = desk.run(&command.replace("FILE", file));
            let why = said.contains("it is no plain file")
                || said.contains("that is a folder")
                || said.contains("there is none");
            assert!(code == 4 && (why || said.contains("no sitting could be read")), "{command} {file}: {code} {said}");
        }
    }
}
