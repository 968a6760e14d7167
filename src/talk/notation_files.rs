//! A MIDI or MusicXML file that was named, opened and read.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::exchange::{
    ImportedVoice, NotationKind, PlayedFile, Refused, chosen_in_midi, from_musicxml, played_in_midi,
};
use crate::files::{Places, UserSettings, plain};
use crate::midi::{LineChoice, WhichOfChord};
use crate::talk::chosen_devices;
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::talk::player::Who;

/// Largest number of bytes that are read of a foreign file; the reader refuses a longer one.
const LIMIT: u64 = 2 << 20;

/// What helps where a file is no notation.
pub const NAME_A_SCORE: &str = "Name a .mid, .musicxml, .mxl or .xml file.";

/// The voice of a MIDI or MusicXML file; `None` for anything else, such as a recording. What the settings say of a MIDI instrument counts
/// for a MIDI file too.
pub fn voice(file: &Path) -> Result<Option<ImportedVoice>, Failure> {
    let Some((kind, bytes)) = notation(file, NAME_A_SCORE)? else { return Ok(None) };
    if kind == NotationKind::Score {
        return from_musicxml(&bytes).map(Some).map_err(|refused| refused_in(file, &refused, None));
    }
    let choice = choice()?;
    let (voice, several) =
        chosen_in_midi(&bytes, choice).map_err(|refused| refused_in(file, &refused, choice.channel))?;
    if several {
        warn(format!("{}: {}", file.display(), several_keys(choice)));
    }
    Ok(Some(voice))
}

/// What was played into a MIDI file; `None` for anything else, such as a recording. `judged` is whose intonation is to be judged.
pub fn played(file: &Path, judged: Option<&Who>) -> Result<Option<PlayedFile>, Failure> {
    let Some((NotationKind::Midi, bytes)) = notation(file, NAME_A_SCORE)? else { return Ok(None) };
    let choice = choice()?;
    let played = played_in_midi(&bytes, choice).map_err(|refused| refused_in(file, &refused, choice.channel))?;
    if played.several {
        warn(format!("{}: {}", file.display(), several_keys(choice)));
    }
    if played.changes {
        warn(format!("{}: the tempo changes between the notes; they are taken as they sound", file.display()));
    }
    judged.and_then(|who| chosen_devices::unbent(choice, who)).into_iter().for_each(warn);
    Ok(Some(played))
}

/// What is said where keys were left out of a line.
pub const fn several_keys(choice: LineChoice) -> &'static str {
    match choice.of_chord {
        WhichOfChord::Highest => "several keys sound at once; the highest counts (midi.chord in your settings)",
        WhichOfChord::Lowest => "several keys sound at once; the lowest counts (midi.chord in your settings)",
    }
}

/// Which messages of a file that was played on a MIDI instrument are listened to.
fn choice() -> Result<LineChoice, Failure> {
    Ok(chosen_devices::line(&UserSettings::load(&Places::usual()?)?))
}

/// Warns of options that change nothing, where a file has notes and no sound.
pub fn unheeded(file: &Path, a4: bool) {
    if a4 && matches!(notation(file, NAME_A_SCORE), Ok(Some(_))) {
        warn(format!("--a4 changes nothing: {} holds notes, and no sound", file.display()));
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
    let Some(kind) = NotationKind::of(&bytes) else {
        let ending = file.extension().map(|ending| ending.to_ascii_lowercase());
        if ending.is_some_and(|ending| ending == "mid" || ending == "midi") {
            let mend = "Export it anew from the program that wrote it. A recording needs its own ending, such as .wav.";
            let what = "by its name this is a MIDI file, and it holds none: it does not begin with MThd";
            return Err(Failure::input(file.display(), what, mend));
        }
        return Ok(None);
    };
    read(LIMIT + 1, &mut bytes)?;
    Ok(Some((kind, bytes)))
}

/// The failure for a file that was refused; `channel` is the only one that was looked at.
fn refused_in(file: &Path, refused: &Refused, channel: Option<u8>) -> Failure {
    match (refused, channel) {
        (Refused::Empty, Some(channel)) => {
            let what = format!("no note sounds in it on channel {channel}");
            let mend =
                format!("midi.channel = {channel} stands in your settings: leave it out there to hear all channels.");
            Failure::input(file.display(), what, mend)
        }
        _ => Failure::input(file.display(), refused, refused.mend()),
    }
}
