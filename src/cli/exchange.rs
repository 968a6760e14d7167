//! Patterns in from MIDI and MusicXML files, and out to them.

use std::path::Path;

use crate::cli::args::Player;
use crate::cli::failure::Failure;
use crate::cli::meant::{Who, pattern};
use crate::cli::{patterns, say};
use crate::coach::Dice;
use crate::exchange::{self, Wish};
use crate::files::{Places, Settings, write_whole};
use crate::music::{Concert, ConcertKey, WrittenKey};
use crate::pattern::{self, About, Family, Line, Pattern, PatternId, Register, TempoRange};
use crate::units::Tempo;

/// A foreign file is never read further than this.
const LIMIT: u64 = 2 << 20;

/// Makes a pattern of a MIDI or MusicXML file; prints it, or appends it to a file of patterns.
pub fn import(file: &Path, key: Option<&str>, name: &str, save: Option<&Path>) -> Result<(), Failure> {
    let read =
        |error: &dyn std::fmt::Display| Failure::input(file.display(), error, "Name a .mid, .musicxml or .xml file.");
    let length = std::fs::metadata(file).map_err(|error| read(&error))?.len();
    if length > LIMIT {
        return Err(read(&"the file is larger than 2 MiB; a pattern needs a few kilobytes"));
    }
    let bytes = std::fs::read(file).map_err(|error| read(&error))?;
    let midi = bytes.starts_with(b"MThd") || bytes.starts_with(b"RIFF");
    let voice = if midi { exchange::from_midi(&bytes) } else { exchange::from_musicxml(&bytes) };
    let voice = voice.map_err(|refused| read(&refused))?;
    let first = voice.line.notes.first().map_or(Concert(60), |note| note.pitch);
    let tonic = match key {
        Some(text) => {
            let key = WrittenKey::parse(text).ok_or_else(|| {
                Failure::usage(
                    format!("no key is called \"{text}\""),
                    "Such as C, Eb, F#: the sounding key of the line.",
                )
            })?;
            below(first, key.0.get())
        }
        None => first,
    };
    let about = About {
        id: PatternId(name.to_owned()),
        name: name.replace('-', " "),
        family: family(&voice.line),
        level: 3,
        tempo: TempoRange { low: Tempo(60.0), high: voice.tempo.unwrap_or(Tempo(144.0)).max(Tempo(61.0)) },
        over: Vec::new(),
        source: "the player's own".to_owned(),
    };
    let made = pattern::from_line(&voice.line, tonic, about)
        .ok_or_else(|| read(&"the line cannot be written as a pattern: too wide, or a rhythm that no unit writes"))?;
    let text = pattern::print_file([&made]);
    match save {
        None => say(text.trim_end()),
        Some(into) => append(into, &text),
    }
}

/// Appends a pattern to a file of patterns, which must be sound before and after.
fn append(into: &Path, text: &str) -> Result<(), Failure> {
    let before = match std::fs::read_to_string(into) {
        Ok(before) => before,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => String::new(),
        Err(error) => return Err(Failure::input(into.display(), error, "Name a TOML file of patterns.")),
    };
    let all = if before.trim().is_empty() { text.to_owned() } else { format!("{}\n\n{text}", before.trim_end()) };
    if let Some(trouble) = pattern::check(&all, &into.display().to_string()).first() {
        return Err(Failure::input(
            into.display(),
            trouble,
            "Nothing was written; mend the file or choose another name.",
        ));
    }
    write_whole(into, all.as_bytes())?;
    say(format!("added to {}", into.display()))
}

/// The nearest pitch of this class at or below `pitch`.
fn below(pitch: Concert, class: i32) -> Concert {
    Concert(pitch.0 - (pitch.0 - class).rem_euclid(12))
}

/// The family by motion: mostly skips, mostly half steps, or steps.
fn family(line: &Line) -> Family {
    let moves: Vec<i32> = line.notes.windows(2).map(|pair| (pair[1].pitch.0 - pair[0].pitch.0).abs()).collect();
    let share = |wanted: &dyn Fn(i32) -> bool| moves.iter().filter(|by| wanted(**by)).count() * 2 >= moves.len().max(1);
    if share(&|by| by >= 3) {
        Family::Arpeggio
    } else if share(&|by| by == 1) {
        Family::Chromatic
    } else {
        Family::Scale
    }
}

/// All twelve keys from written C in the pattern's own order; shuffled ones fall the same way each time.
fn cycle(found: &Pattern, who: &Who) -> Vec<ConcertKey> {
    let first = if who.concert { ConcertKey::FIFTHS[0] } else { who.instrument.concert_key(WrittenKey::C) };
    let mut dice = Dice::new(1);
    found.cycle.keys(first, |below| (dice.throw() * below as f64) as usize).to_vec()
}

/// Writes a pattern in all twelve keys, in the player's written pitch and clef.
pub fn export(
    name: &str,
    player: &Player,
    register: Register,
    midi: Option<&Path>,
    musicxml: Option<&Path>,
    accidentals: bool,
) -> Result<(), Failure> {
    let library = patterns::library()?;
    let found = pattern(&library, name)?;
    let who = Who::of(player, &Settings::load(&Places::usual()?)?)?;
    if midi.is_none() && musicxml.is_none() {
        return Err(Failure::usage("where should it go?", "Add --musicxml OUT or --midi OUT."));
    }
    let wish = Wish {
        keys: match &player.keys {
            Some(keys) => who.keys(Some(keys))?,
            None => cycle(&found, &who),
        },
        range: who.range,
        register,
        signatures: !accidentals,
        g_flat: who.g_flat,
        tempo: Tempo(96.0),
    };
    let (sheet, left_out) = exchange::sheet(&found, &who.instrument, &wish);
    for (key, refusal) in &left_out {
        eprintln!("earfirst: {} is left out: {refusal}", who.key_name(*key));
    }
    for (out, bytes) in [(midi, exchange::to_midi(&sheet)), (musicxml, exchange::to_musicxml(&sheet))] {
        if let Some(out) = out {
            write_whole(out, &bytes)?;
            say(format!("{}: {} in {} keys", out.display(), found.name, sheet.pieces.len()))?;
        }
    }
    Ok(())
}
