use std::collections::BTreeSet;
use std::path::Path;

use crate::cli::args::Notes;
use crate::engine;
use crate::exchange;
use crate::files;
use crate::music::{self, Instrument};
use crate::report;
use crate::talk::failure::Failure;
use crate::talk::notation_files::{played, unheeded_by_keys};
use crate::talk::output::{say, warned};
use crate::talk::recordings::read;
use crate::units::{A440, Hertz};

/// Turns recordings into notes or frames, and MIDI files into notes.
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
    let (frames, notes) = match played(file, instrument)? {
        Some(_) if typed.frames => {
            let what = format!("{} is a MIDI file, and frames are looks at a sound", file.display());
            return Err(Failure::usage(what, "Leave --frames away."));
        }
        Some(played) => {
            unheeded_by_keys(typed.a4.is_some(), instrument.is_some() && !played.told.bends);
            (Vec::new(), played.line)
        }
        None => {
            let recording = read(file)?;
            let settings = engine::ear_settings(recording.rate, a4, instrument);
            engine::hear_recording(&settings, &recording, typed.frames)?
        }
    };
    if let Some(out) = &typed.midi {
        return Ok(files::write_named(out, &exchange::heard_to_midi(&notes))?);
    }
    let told = |notes| report::with_remarks(notes, &warned()).to_string();
    let text = match (typed.json, typed.frames) {
        (true, true) => told(exchange::frames_json(&frames)),
        (true, false) => told(exchange::notes_json(&notes)),
        (false, true) => exchange::frames_table(&frames),
        (false, false) => exchange::notes_table(&notes, instrument),
    };
    match &typed.into {
        None => say(text.trim_end()),
        Some(folder) => {
            let name = file.file_stem().unwrap_or_default();
            let out = folder.join(name).with_extension("tsv");
            Ok(files::write_whole(&out, text.as_bytes())?)
        }
    }
}
