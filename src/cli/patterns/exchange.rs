//! Patterns in from MIDI and MusicXML files, and out to them.

use std::path::Path;

use crate::cli::args::Player;
use crate::cli::args::patterns::Import;
use crate::exchange::StaffRequest;
use crate::files::{Places, UserSettings};
use crate::music::{self, ConcertKey, Instrument, WrittenKey};
use crate::pattern::Register;
use crate::talk::failure::Failure;
use crate::talk::library::{library, pattern};
use crate::talk::pattern_scores;
use crate::talk::player::Who;
use crate::units::Tempo;

/// Makes a pattern of a MIDI or MusicXML file, its rhythm as written; prints it, or adds it to a file of patterns.
pub fn import(typed: &Import) -> Result<(), Failure> {
    let player = typed.instrument.as_deref().map(instrument).transpose()?;
    let key = typed.key.as_deref().map(|key| typed_key(key, player)).transpose()?;
    pattern_scores::keep(&pattern_scores::made(&typed.file, &typed.name, player, key)?, typed.save.as_deref())
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

/// Writes a pattern in all twelve keys, or in those that were named, in the player's written pitch and clef.
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
            None => pattern_scores::cycle(&found, &who),
        },
        range: who.range,
        register,
        signatures: !accidentals,
        g_flat: who.page.reading.g_flat,
        tempo: Tempo(96.0),
    };
    pattern_scores::write(&found, &who, &wish, midi, musicxml)
}
