//! A MIDI or MusicXML file that was named, opened and read.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::exchange::{ImportedVoice, NotationKind, Refused, played_in_midi};
use crate::files::{Places, UserSettings, plain};
use crate::notes::HeardNote;
use crate::talk::chosen_devices;
use crate::talk::failure::Failure;
use crate::talk::output::warn;

/// A foreign file is never read further than this; the reader refuses what is longer.
const LIMIT: u64 = 2 << 20;

/// What helps where a file is no notation.
pub const NAME_A_SCORE: &str = "Name a .mid, .musicxml, .mxl or .xml file.";

/// The voice of a MIDI or MusicXML file; `None` for anything else, such as a recording.
pub fn voice(file: &Path) -> Result<Option<ImportedVoice>, Failure> {
    let Some((kind, bytes)) = notation(file, NAME_A_SCORE)? else { return Ok(None) };
    kind.voice(&bytes).map(Some).map_err(|refused| refused_in(file, &refused))
}

/// The line that was played into a MIDI file; `None` for anything else, such as a recording.
pub fn played(file: &Path) -> Result<Option<Vec<HeardNote>>, Failure> {
    match notation(file, NAME_A_SCORE)? {
        Some((NotationKind::Midi, bytes)) => {
            let choice = chosen_devices::line(&UserSettings::load(&Places::usual()?)?);
            let (line, tempo_changes) =
                played_in_midi(&bytes, choice).map_err(|refused| match (&refused, choice.channel) {
                    (Refused::Empty, Some(channel)) => {
                        let what = format!("no note sounds in it on channel {channel}");
                        Failure::input(file.display(), what, "midi.channel stands in your settings.")
                    }
                    _ => refused_in(file, &refused),
                })?;
            if tempo_changes {
                warn(format!("{}: the tempo changes between the notes; they are taken as they sound", file.display()));
            }
            Ok(Some(line))
        }
        _ => Ok(None),
    }
}

/// The bytes of a MIDI or MusicXML file; `None` for anything else. `mend` says what to name where it cannot be read.
pub fn notation(file: &Path, mend: &str) -> Result<Option<(NotationKind, Vec<u8>)>, Failure> {
    plain(file)?;
    let mut bytes = Vec::new();
    let read = |most: u64, bytes: &mut Vec<u8>| {
        bytes.clear();
        let read = File::open(file).and_then(|opened| opened.take(most).read_to_end(bytes));
        read.map_err(|error| Failure::input(file.display(), error, mend))
    };
    read(NotationKind::HEAD as u64, &mut bytes)?;
    if bytes.is_empty() {
        return Err(Failure::input(file.display(), "the file is empty", "Copy it, or export it, again."));
    }
    let Some(kind) = NotationKind::of(&bytes) else { return Ok(None) };
    read(LIMIT + 1, &mut bytes)?;
    Ok(Some((kind, bytes)))
}

fn refused_in(file: &Path, refused: &Refused) -> Failure {
    Failure::input(file.display(), refused, refused.mend())
}
