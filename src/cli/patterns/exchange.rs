//! Patterns in from MIDI and MusicXML files, and out to them.

use std::path::Path;

use crate::cli::args::Player;
use crate::cli::args::patterns::Import;
use crate::coach::Rng;
use crate::exchange::{self, ImportedVoice, StaffRequest};
use crate::files::{Places, UserSettings, write_named};
use crate::learn;
use crate::music::{self, ConcertKey, Instrument, WrittenKey};
use crate::pattern::{self, Pattern, Register, Unwritable};
use crate::talk::failure::Failure;
use crate::talk::library::{library, pattern};
use crate::talk::notation_files::{NAME_A_SCORE, voice};
use crate::talk::output::{say, warn};
use crate::talk::own_patterns::Own;
use crate::talk::player::Who;
use crate::units::Tempo;
use crate::words::numbers::counted;

/// Makes a pattern of a MIDI or MusicXML file, its rhythm exactly as written; prints it, or adds it to a file of patterns.
pub fn import(typed: &Import) -> Result<(), Failure> {
    let file = &typed.file;
    let none = || Failure::input(file.display(), "this is neither a MIDI nor a MusicXML file", NAME_A_SCORE);
    let voice = voice(file)?.ok_or_else(none)?;
    let player = typed.instrument.as_deref().map(instrument).transpose()?;
    let typed_key = typed.key.as_deref().map(|key| typed_key(key, player)).transpose()?;
    let voice = match player {
        Some(player) => voice.on_page_of(player),
        None => voice,
    }
    .evened();
    let found = learn::find_root(&voice.line, typed_key, voice.key, &library()?).map_err(|why| {
        Failure::usage(why, "Tell it with --key, as it sounds (with --instrument: as on the page): --key Eb.")
    })?;
    let chord = learn::chord(&voice.line, found.tonic);
    let tempo = voice.tempo.unwrap_or(Tempo(144.0));
    let level = learn::level(&voice.line, found.tonic);
    let about = learn::about(&typed.name, learn::motion(&voice.line).family(), tempo, chord, level);
    let mut made = pattern::from_line(&voice.line, found.tonic, about).map_err(|why| unwritable(file, why, &voice))?;
    (made.swing, made.notation.meter) = (voice.swing, voice.meter);
    let units = voice.pickup.0 / made.notation.unit.ticks().beats().0;
    if (units - units.round()).abs() < 1e-3 {
        made.notation.pickup = units.round() as u32;
    }
    match &typed.save {
        None => say(pattern::print_file([&made]).trim_end()),
        Some(into) => {
            Own::open(Some(into), &Places::usual()?)?.keep(&made)?;
            say(format!("added to {}", into.display()))
        }
    }
}

fn instrument(name: &str) -> Result<&'static Instrument, Failure> {
    music::instrument(name).map_err(|unknown| {
        Failure::usage(unknown, "Instruments are named like trumpet, alto-sax, guitar, tenor-voice.")
    })
}

/// The key as it was typed: on the page of the instrument, where one is named.
fn typed_key(key: &str, player: Option<&Instrument>) -> Result<ConcertKey, Failure> {
    let read = WrittenKey::parse(key).ok_or_else(|| {
        Failure::usage(format!("no key is called \"{key}\""), "Such as C, Eb, F#: the sounding key of the line.")
    })?;
    Ok(player.map_or(ConcertKey(read.0), |player| player.concert_key(read)))
}

/// Why no pattern came of it, and how to mend that.
fn unwritable(file: &Path, why: Unwritable, voice: &ImportedVoice) -> Failure {
    let bars = (voice.line.length.0 / 4.0).ceil();
    let mend = match why {
        Unwritable::Notes { .. } | Unwritable::Long { .. } => {
            format!("Leave in the file only the bars that are the pattern: it has {bars:.0}.")
        }
        Unwritable::Wide { .. } => "Tell the root with --key, or move that note by an octave.".to_owned(),
        _ => "Played by hand? earfirst patterns learn FILE puts its rhythm in order.".to_owned(),
    };
    Failure::input(file.display(), why, mend)
}

/// All twelve keys from written C in the pattern's own order; shuffled ones fall the same way each time.
fn cycle(found: &Pattern, who: &Who) -> Vec<ConcertKey> {
    let first = who.page.sounding_key(WrittenKey::C);
    let mut rng = Rng::new(1);
    found.cycle.keys(first, |below| (rng.uniform() * below as f64) as usize).to_vec()
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
    let library = library()?;
    let found = pattern(&library, name)?;
    let who = Who::of(player, &UserSettings::load(&Places::usual()?)?)?;
    if midi.is_none() && musicxml.is_none() {
        return Err(Failure::usage("where should it go?", "Add --musicxml OUT or --midi OUT."));
    }
    let wish = StaffRequest {
        keys: match &player.keys {
            Some(keys) => who.keys(Some(keys))?,
            None => cycle(&found, &who),
        },
        range: who.range,
        register,
        signatures: !accidentals,
        g_flat: who.page.reading.g_flat,
        tempo: Tempo(96.0),
    };
    let (staff, left_out) = exchange::staff(&found, &who.page.instrument, &wish);
    if let Some((_, refusal)) = left_out.first() {
        let keys: Vec<String> = left_out.iter().map(|(key, _)| who.page.key(*key, found.mode())).collect();
        warn(format!("left out {}: {refusal}\n  Widen --range to have them all.", keys.join(" ")));
    }
    if staff.pieces.is_empty() {
        return Err(Failure::usage("there is no key left to write", "Widen --range, or choose a shorter pattern."));
    }
    for (out, bytes) in [(midi, exchange::to_midi(&staff)), (musicxml, exchange::to_musicxml(&staff))] {
        if let Some(out) = out {
            write_named(out, &bytes)?;
            say(format!("{}: {} in {}", out.display(), found.name, counted(staff.pieces.len(), "key")))?;
        }
    }
    Ok(())
}
