//! Session files that are spoilt in many ways: in their bytes, lines and values, in the zip and in the sound within it. The program reads
//! each of them. It may refuse a file with a message, but it must not panic, hang, send control characters to the terminal or take much
//! memory.

use std::fs;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use zip::CompressionMethod;
use zip::write::SimpleFileOptions;

use crate::chance::Chance;
use crate::records::kept::Fresh;
use crate::records::spoiling::{spoil_bytes, spoil_flac, spoil_record, spoil_zip};

/// The environment variable that says how many files are spoilt; the longer check takes 8,050.
const ROUNDS: &str = "EARFIRST_MUTATIONS";
const MOST_MB: f64 = 300.0;
const PATIENCE: Duration = Duration::from_secs(90);

/// The record and the sound of a sitting that is not spoilt.
struct True {
    record: Vec<u8>,
    flac: Vec<u8>,
    wav: Vec<u8>,
}

fn true_sitting(fresh: &Fresh) -> True {
    let demo =
        ["demo", "four-half-steps-up", "--fast", "--plain", "--seed", "7", "--answers", "3", "--keep-sound", "all"];
    let told = Command::new(env!("CARGO_BIN_EXE_earfirst")).args(demo).env("EARFIRST_DATA", &fresh.0).output().unwrap();
    assert!(told.status.success());
    let path = fs::read_dir(fresh.0.join("sessions")).unwrap().next().unwrap().unwrap().path();
    let mut zip = zip::ZipArchive::new(fs::File::open(path).unwrap()).unwrap();
    let mut entry = |name: &str| {
        let mut bytes = Vec::new();
        zip.by_name(name).unwrap().read_to_end(&mut bytes).unwrap();
        bytes
    };
    let (record, flac) = (entry("session.jsonl"), entry("answers.flac"));
    // A WAV of two seconds, after the format's own description: RIFF, one channel, 48 kHz, 16 bits.
    let mut wav =
        b"RIFF\x24\xee\x02\0WAVEfmt \x10\0\0\0\x01\0\x01\0\x80\xbb\0\0\0\x77\x01\0\x02\0\x10\0data\0\xee\x02\0"
            .to_vec();
    wav.extend((0..192_000).map(|n: u32| (n.wrapping_mul(n) >> 7) as u8));
    True { record, flac, wav }
}

fn zip_of(path: &Path, chance: &mut Chance, files: &[(&str, &[u8])]) {
    let method = chance.pick(&[CompressionMethod::Stored, CompressionMethod::Deflated]);
    let mut zip = zip::ZipWriter::new(fs::File::create(path).unwrap());
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default().compression_method(method)).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap();
}

/// Writes a spoilt sitting into a folder, and hands back its name.
fn spoilt(folder: &Path, whole: &True, chance: &mut Chance) -> &'static str {
    let zip = folder.join("s.zip");
    let sound: (&str, &[u8]) = ("answers.flac", &whole.flac);
    match chance.whole(0, 8) {
        0 | 1 => fs::write(folder.join("s.jsonl"), spoil_record(whole.record.clone(), chance)).unwrap(),
        2 => fs::write(folder.join("s.jsonl"), spoil_bytes(whole.record.clone(), usize::MAX, chance)).unwrap(),
        3 => {
            let live = folder.join("live");
            fs::create_dir(&live).unwrap();
            fs::write(live.join("session.jsonl"), spoil_record(whole.record.clone(), chance)).unwrap();
            fs::write(live.join("answers.wav"), spoil_bytes(whole.wav.clone(), 44, chance)).unwrap();
            return "live";
        }
        4 => {
            let record = spoil_record(whole.record.clone(), chance);
            zip_of(&zip, chance, &[("session.jsonl", &record), sound]);
        }
        5 => {
            let flac = spoil_flac(whole.flac.clone(), chance);
            zip_of(&zip, chance, &[("session.jsonl", &whole.record), ("answers.flac", &flac)]);
        }
        6 => {
            let wav = spoil_bytes(whole.wav.clone(), 44, chance);
            zip_of(&zip, chance, &[("session.jsonl", &whole.record), ("answers.wav", &wav)]);
        }
        7 => {
            zip_of(&zip, chance, &[("session.jsonl", &whole.record), sound]);
            fs::write(&zip, spoil_bytes(fs::read(&zip).unwrap(), usize::MAX, chance)).unwrap();
        }
        _ => {
            let name = chance.pick(&["session.jsonl", "a/session.jsonl", "../session.jsonl", "/session.jsonl"]);
            zip_of(&zip, chance, &[(name, &whole.record), sound]);
            fs::write(&zip, spoil_zip(fs::read(&zip).unwrap(), chance)).unwrap();
        }
    }
    if zip.exists() { "s.zip" } else { "s.jsonl" }
}

/// The result of a run of the program.
struct Told {
    code: Option<i32>,
    said: Vec<u8>,
    megabytes: f64,
}

fn run(folder: &Path, arguments: &[&str]) -> Told {
    let out = fs::File::create(folder.join("said")).unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_earfirst"))
        .args(arguments)
        .current_dir(folder)
        .env("EARFIRST_DATA", folder.join("data"))
        .stdin(Stdio::null())
        .stdout(out.try_clone().unwrap())
        .stderr(out)
        .spawn()
        .unwrap();
    let (begun, mut most) = (Instant::now(), 0.0);
    let code = loop {
        // Where there is no such file, as on other systems, memory is not looked at.
        let status = fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
        let high = status.lines().find_map(|line| line.strip_prefix("VmHWM:")?.split_whitespace().next());
        most = high.and_then(|it| it.parse().ok()).unwrap_or(most);
        if let Some(status) = child.try_wait().unwrap() {
            break status.code();
        }
        if begun.elapsed() > PATIENCE {
            child.kill().unwrap();
            child.wait().unwrap();
            break None;
        }
        std::thread::sleep(Duration::from_millis(3));
    };
    Told { code, said: fs::read(folder.join("said")).unwrap(), megabytes: most / 1000.0 }
}

/// What is wrong with the result of a run; `None` where nothing is.
fn fault(told: &Told) -> Option<&'static str> {
    let Ok(said) = std::str::from_utf8(&told.said) else { return Some("no text") };
    let steers = |it: char| it != '\n' && (it.is_control() || ('\u{202a}'..='\u{202e}').contains(&it));
    match told.code {
        None => Some("killed, or without an end"),
        // 2: of a review that has fewer answers than the number that is asked for.
        Some(0 | 2 | 4) if said.contains("panicked") || said.contains(steers) => {
            Some("a panic, or steers the terminal")
        }
        Some(4) if !said.contains("cannot") || !(said.contains("; ") || said.contains("\n  ")) => Some("no words"),
        Some(0 | 2 | 4) if told.megabytes > MOST_MB => Some("much memory"),
        Some(0 | 2 | 4) => None,
        Some(_) => Some("a code of no kind"),
    }
}

#[test]
fn a_session_file_spoilt_in_any_way_is_read_or_refused_in_words() {
    let rounds = std::env::var(ROUNDS).ok().and_then(|rounds| rounds.parse().ok()).unwrap_or(60);
    let fresh = Fresh::new("spoilt");
    let whole = true_sitting(&fresh);
    let mut faults = Vec::new();
    for round in 0..rounds {
        let mut chance = Chance::new(round);
        let folder = fresh.0.join(format!("round-{round}"));
        fs::create_dir(&folder).unwrap();
        let name = spoilt(&folder, &whole, &mut chance);
        let lines: [&[&str]; 5] = [
            &["review", name, "--again"],
            &["review", name, "--json"],
            &["review", name, "--html", "out.html"],
            &["review", name, "--wav", "1", "out.wav"],
            // As the player's own: the next start takes it up, and the coach learns of it.
            &["demo", "four-half-steps-up", "--fast", "--plain", "--answers", "1"],
        ];
        let line = chance.pick(&lines);
        if line[0] == "demo" {
            let sessions = folder.join("data/sessions");
            fs::create_dir_all(&sessions).unwrap();
            fs::rename(folder.join(name), sessions.join(name.replace("live", "2026-11-01-1830-trumpet"))).unwrap();
        }
        let told = run(&folder, line);
        let said = String::from_utf8_lossy(&told.said);
        faults
            .extend(fault(&told).map(|why| {
                format!("{round} {line:?}: {why} ({:?}, {:.0} MB)\n{said:.600}", told.code, told.megabytes)
            }));
        fs::remove_dir_all(&folder).unwrap();
    }
    assert!(faults.is_empty(), "{} of {rounds}:\n{}", faults.len(), faults.join("\n"));
}
