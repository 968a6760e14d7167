//! Patterns in from MIDI and MusicXML files that were named, and out to them.

use std::path::Path;

use crate::coach::Rng;
use crate::exchange::{self, ImportedVoice, NotationKind, StaffRequest};
use crate::files::{Places, write_named};
use crate::learn::{self, LearnError};
use crate::music::{ConcertKey, Instrument, WrittenKey};
use crate::pattern::{self, Pattern, Unwritable};
use crate::talk::failure::Failure;
use crate::talk::library::library;
use crate::talk::line_source::unlearnt;
use crate::talk::notation_files::{NAME_A_SCORE, ReadBy, notation, voice};
use crate::talk::output::{say, warn};
use crate::talk::own_patterns::SavedPatterns;
use crate::talk::player::Who;
use crate::units::Tempo;
use crate::words::numbers::counted;

/// The pattern in a file, its rhythm as written: in a MIDI file, which may have been played, notes that are let go early last up to the
/// next. The file is read as the page of `player`, where one is given.
pub fn made(file: &Path, name: &str, player: Option<&Instrument>, key: Option<ConcertKey>) -> Result<Pattern, Failure> {
    let none = || Failure::input(file.display(), "this is neither a MIDI nor a MusicXML file", NAME_A_SCORE);
    let voice = voice(file, ReadBy::Importer(player))?.ok_or_else(none)?;
    let voice = match player {
        Some(player) => voice.on_page_of(player),
        None => voice,
    };
    let voice = if matches!(notation(file, NAME_A_SCORE)?, Some((NotationKind::Midi, _))) {
        let on_grid = |voice: ImportedVoice| ImportedVoice { line: learn::releases_on_grid(voice.line), ..voice };
        // A line that swings has its notes at other places once it is evened, so its ends are put on the grid again.
        on_grid(on_grid(voice).evened())
    } else {
        voice.evened()
    };
    if voice.line.notes.len() == 1 {
        return Err(unlearnt(&LearnError::OneNote));
    }
    let found = learn::find_root(&voice.line, key, voice.key, &library()?).map_err(|why| {
        Failure::usage(why, "Tell it with --key, as it sounds (with --instrument: as on the page): --key Eb.")
    })?;
    let chord = learn::chord(&voice.line, found.tonic);
    let tempo = voice.tempo.unwrap_or(Tempo(144.0));
    let level = learn::level(&voice.line, found.tonic);
    let about = learn::about(name, learn::motion(&voice.line).family(), tempo, chord, level);
    let mut made = pattern::from_line(&voice.line, found.tonic, about)
        .map_err(|why| unwritable(file, why, &voice, key.is_some()))?;
    (made.swing, made.notation.meter) = (voice.swing, voice.meter);
    let units = voice.pickup.0 / made.notation.unit.ticks().beats().0;
    if (units - units.round()).abs() < 1e-3 {
        made.notation.pickup = units.round() as u32;
    }
    Ok(made)
}

/// Prints the pattern, or adds it to a file of patterns.
pub fn keep(made: &Pattern, into: Option<&Path>) -> Result<(), Failure> {
    let Some(into) = into else { return say(pattern::print_file([made]).trim_end()) };
    SavedPatterns::open(Some(into), &Places::usual()?)?.keep(made)?;
    say(format!("added to {}", into.display()))
}

/// Why the voice became no pattern, and how to mend that.
fn unwritable(file: &Path, why: Unwritable, voice: &ImportedVoice, key_told: bool) -> Failure {
    let bars = (voice.line.length.0 / 4.0).ceil();
    let mend = match why {
        Unwritable::Notes { .. } | Unwritable::Long { .. } => {
            format!("Leave in the file only the bars that are the pattern: it has {bars:.0}.")
        }
        Unwritable::Wide { .. } if key_told => {
            "Move that note by an octave, or leave it out of the file; keys = \"C4-C8\" in [midi] of your settings leaves out a hand below."
                .to_owned()
        }
        Unwritable::Wide { .. } => "Tell the root with --key, or move that note by an octave.".to_owned(),
        _ => "Played by hand? earfirst patterns learn FILE puts its rhythm in order.".to_owned(),
    };
    Failure::input(file.display(), why, mend)
}

/// All twelve keys from written C in the pattern's own order; a shuffled order is the same each time.
pub fn cycle(found: &Pattern, who: &Who) -> Vec<ConcertKey> {
    let first = who.page.sounding_key(WrittenKey::C);
    let mut rng = Rng::new(1);
    found.cycle.keys(first, |below| (rng.uniform() * below as f64) as usize).to_vec()
}

/// Writes a pattern in the keys of a wish, for the player's page.
pub fn write(
    found: &Pattern,
    who: &Who,
    wish: &StaffRequest,
    midi: Option<&Path>,
    musicxml: Option<&Path>,
) -> Result<(), Failure> {
    let (staff, left_out) = exchange::staff(found, &who.page.instrument, wish);
    if let Some((_, refusal)) = left_out.first() {
        let keys: Vec<String> = left_out.iter().map(|(key, _)| who.page.key(*key, found.mode())).collect();
        let range = who.low_to_high(refusal.range);
        let flag = who.taking_in(left_out.iter().map(|(_, refusal)| refusal.nearest));
        let mend = flag.map_or_else(|| "Choose a shorter pattern.".to_owned(), |flag| format!("{flag} has them all."));
        let keys = keys.join(" ");
        warn(format!("left out {keys}: no octave of the line lies inside your range there, {range}\n  {mend}"));
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
