use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::Path;

use crate::cli::args::Notes;
use crate::cli::failure::Failure;
use crate::cli::output::{say, warn};
use crate::engine;
use crate::exchange;
use crate::files::{self, Recording};
use crate::music::{self, Instrument};
use crate::notes::{Frame, HeardNote};
use crate::units::{A440, Hertz};

/// A recording to notes or frames.
pub fn run(typed: &Notes) -> Result<(), Failure> {
    let a4 = Hertz(typed.a4.unwrap_or(A440.0));
    if !(415.0..=466.0).contains(&a4.0) {
        return Err(Failure::usage(format!("A4 = {} Hz is out of reach", a4.0), "Give 415 to 466."));
    }
    let instrument = match &typed.instrument {
        Some(name) => Some(music::instrument(name).map_err(|unknown| Failure::usage(unknown, ""))?),
        None => None,
    };
    if typed.files.len() > 1 && (typed.midi.is_some() || (typed.json && typed.into.is_none())) {
        return Err(Failure::usage("one recording at a time with --json and --midi", "Name one file."));
    }
    let mut names = BTreeSet::new();
    if let Some(same) = typed.files.iter().find(|file| typed.into.is_some() && !names.insert(file.file_stem())) {
        let what = format!("two of these recordings would be written to one file, {} the second", same.display());
        return Err(Failure::usage(what, "Name them one by one, each with a folder of its own after --into."));
    }
    for file in &typed.files {
        if typed.files.len() > 1 && typed.into.is_none() {
            say(format!("# {}", file.display()))?;
        }
        one(typed, file, a4, instrument)?;
    }
    Ok(())
}

fn one(typed: &Notes, file: &Path, a4: Hertz, instrument: Option<&Instrument>) -> Result<(), Failure> {
    let recording = read(file)?;
    let settings = engine::ear_settings(recording.rate, a4, instrument);
    let (frames, notes) = engine::hear_recording(&settings, &recording, typed.frames)?;
    if let Some(out) = &typed.midi {
        return Ok(files::write_named(out, &exchange::heard_to_midi(&notes))?);
    }
    let text = match (typed.json, typed.frames) {
        (true, true) => frames_json(&frames),
        (true, false) => json(&notes),
        (false, true) => frames_table(&frames),
        (false, false) => notes_table(&notes),
    };
    match &typed.into {
        None => say(text.trim_end()),
        Some(folder) => {
            let name = file.file_stem().unwrap_or_default();
            let out = folder.join(name).with_extension("tsv");
            write(&out, text.as_bytes())
        }
    }
}

fn write(out: &Path, bytes: &[u8]) -> Result<(), Failure> {
    Ok(files::write_whole(out, bytes)?)
}

/// Looks a recording through, with a failure that says what to do, and a word where its end is missing.
pub fn read(file: &Path) -> Result<Recording, Failure> {
    let recording = Recording::open(file)?;
    if let Some(missing) = recording.missing {
        let name = file.display();
        warn(format!("{name} is cut off, {:.1} s before its end; what is there is heard", missing.0));
    }
    Ok(recording)
}

fn notes_table(notes: &[HeardNote]) -> String {
    let mut out =
        String::from("onset_s\trelease_s\tmidi\tcents\tloudness_db\tconfidence\tannounced_s\tannounced_midi\n");
    for note in notes {
        let _ = writeln!(
            out,
            "{:.4}\t{:.4}\t{:.3}\t{:+.1}\t{:.1}\t{:.2}\t{:.4}\t{:.3}",
            note.onset.0,
            note.release.0,
            note.pitch.0,
            note.pitch.cents_off().0,
            note.loudness.0,
            note.confidence,
            note.announced.0,
            note.announced_pitch.0
        );
    }
    out
}

fn frames_table(frames: &[Frame]) -> String {
    let mut out = String::from("time_s\thz\tclarity\tloudness_db\tknown_s\n");
    for frame in frames {
        let hz = frame.pitch.map_or(0.0, |pitch| pitch.0);
        let _ = writeln!(
            out,
            "{:.4}\t{hz:.3}\t{:.3}\t{:.1}\t{:.4}",
            frame.at.0, frame.clarity, frame.loudness.0, frame.known.0
        );
    }
    out
}

fn frames_json(frames: &[Frame]) -> String {
    let rows = frames.iter().map(|frame| {
        serde_json::json!({
            "time_s": frame.at.0, "hz": frame.pitch.map(|pitch| pitch.0), "clarity": frame.clarity,
            "loudness_db": frame.loudness.0, "known_s": frame.known.0,
        })
    });
    serde_json::Value::Array(rows.collect()).to_string()
}

fn json(notes: &[HeardNote]) -> String {
    let rows = notes.iter().map(|note| {
        serde_json::json!({
            "onset_s": note.onset.0, "release_s": note.release.0, "midi": note.pitch.0, "cents": note.pitch.cents_off().0,
            "loudness_db": note.loudness.0, "confidence": note.confidence,
            "announced_s": note.announced.0, "announced_midi": note.announced_pitch.0,
        })
    });
    serde_json::Value::Array(rows.collect()).to_string()
}

/// Reads a list of notes as [`run`] prints it.
pub fn parse_table(text: &str, place: &str) -> Result<Vec<HeardNote>, Failure> {
    let mut notes = Vec::new();
    for (n, line) in text.lines().enumerate() {
        if line.trim().is_empty() || !line.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '.') {
            continue;
        }
        let cells: Vec<Option<f64>> =
            line.split('\t').map(|cell| cell.trim().parse().ok().filter(|value: &f64| value.is_finite())).collect();
        let cell = |index: usize| cells.get(index).copied().flatten();
        let (Some(onset), Some(release), Some(pitch)) = (cell(0), cell(1), cell(2)) else {
            let what = "a row needs at least onset_s, release_s and midi, parted by tabs";
            return Err(Failure::input(format!("{place}:{}", n + 1), what, "earfirst notes prints such a list."));
        };
        notes.push(HeardNote {
            number: notes.len() as u32,
            onset: crate::units::Seconds(onset),
            release: crate::units::Seconds(release.max(onset)),
            pitch: crate::units::Midi(pitch),
            spread: (release - onset >= 0.08).then_some(crate::units::Cents(0.0)),
            loudness: crate::units::Decibels(cell(4).unwrap_or(-20.0)),
            confidence: cell(5).unwrap_or(1.0),
            announced: crate::units::Seconds(cell(6).unwrap_or(onset)),
            announced_pitch: crate::units::Midi(cell(7).unwrap_or(pitch)),
        });
    }
    Ok(notes)
}
