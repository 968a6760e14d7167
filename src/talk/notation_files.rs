//! A MIDI or MusicXML file that was named, opened and read.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::exchange::{
    ImportedVoice, MidiTold, NotationKind, PlayedFile, Refused, chosen_in_midi, from_musicxml, played_in_midi,
};
use crate::files::{Places, UserSettings, plain};
use crate::midi::{KeysBeside, LineChoice};
use crate::music::{self, Instrument, Intonation, NoteNames};
use crate::talk::chosen_devices::{self, tuned, unbent};
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::talk::{keys_told, misspelt};

/// Largest number of bytes that are read of a foreign file; the reader refuses a longer one.
const LIMIT: u64 = 2 << 20;

/// What helps where a file is no notation.
pub const NAME_A_SCORE: &str = "Name a .mid, .musicxml, .mxl or .xml file.";

/// The voice of a MIDI or MusicXML file; `None` for anything else, such as a recording. What the settings say of a MIDI instrument counts
/// for a MIDI file too; `on` is the instrument it was played on, where it is not the one in the settings.
pub fn voice(file: &Path, on: Option<&Instrument>) -> Result<Option<ImportedVoice>, Failure> {
    let Some((kind, bytes)) = notation(file, NAME_A_SCORE)? else { return Ok(None) };
    if kind == NotationKind::Score {
        return from_musicxml(&bytes).map(Some).map_err(|refused| refused_in(file, &refused, None));
    }
    let choice = FileChoice::of(on)?;
    let (voice, beside, told) =
        chosen_in_midi(&bytes, choice.line).map_err(|refused| refused_in(file, &refused, Some(&choice)))?;
    choice.tell(file, &beside, &told, "they are taken by the beat");
    Ok(Some(voice))
}

/// What was played into a MIDI file; `None` for anything else, such as a recording. `on` is as for [`voice`].
pub fn played(file: &Path, on: Option<&Instrument>) -> Result<Option<PlayedFile>, Failure> {
    let Some((NotationKind::Midi, bytes)) = notation(file, NAME_A_SCORE)? else { return Ok(None) };
    let choice = FileChoice::of(on)?;
    let played = played_in_midi(&bytes, choice.line).map_err(|refused| refused_in(file, &refused, Some(&choice)))?;
    choice.tell(file, &played.beside, &played.told, "they are taken as they sound");
    Ok(Some(played))
}

/// Which messages of a file that was played on a MIDI instrument are listened to.
struct FileChoice {
    line: LineChoice,
    /// Whether the settings ask for the bend.
    bend: bool,
    /// The instrument, where it was typed or is kept.
    instrument: Option<Instrument>,
    names: NoteNames,
    /// The keys that are listened to, as they stand in the settings.
    keys: Option<String>,
}

impl FileChoice {
    fn of(on: Option<&Instrument>) -> Result<Self, Failure> {
        let stored = UserSettings::load(&Places::usual()?)?;
        misspelt::tell(&stored);
        let kept = || stored.instrument.as_deref().and_then(|name| music::instrument(name).ok());
        let instrument = on.or_else(kept).cloned();
        let line = chosen_devices::line(&stored);
        let tuned = instrument.as_ref().map_or(line, |instrument| tuned(line, instrument));
        let names = stored.note_names().unwrap_or_default();
        Ok(Self { line: tuned, bend: line.bend, instrument, names, keys: stored.midi.keys })
    }

    /// Says once what a player should know of a file besides its notes.
    fn tell(&self, file: &Path, beside: &KeysBeside, told: &MidiTold, timed: &str) {
        let file = file.display();
        // A key that is held over all others is named below.
        let under = if told.held.is_some() { 0 } else { beside.under };
        for said in keys_told::beside(self.line, &KeysBeside { under, ..*beside }) {
            warn(format!("{file}: {said}"));
        }
        if told.tempo_changes {
            warn(format!("{file}: the tempo changes between the notes; {timed}"));
        }
        if let Some(stuck) = keys_told::never_let_go(&told.never_let_go, self.names) {
            warn(format!("{file}: {stuck}"));
        }
        if let Some(held) = told.held {
            warn(format!("{file}: {}", keys_told::held_over(held, self.names)));
        }
        let fixed = self.instrument.as_ref().filter(|instrument| instrument.intonation == Intonation::Unscored);
        match fixed {
            _ if !told.bends => {}
            Some(fixed) => unbent(self.bend, fixed).into_iter().for_each(warn),
            None if !self.bend => {
                warn(format!("{file}: it bends; bend = true in [midi] of your settings reads the bend"));
            }
            None => {}
        }
    }
}

/// Warns of options of `notes` that change nothing where keys say themselves which note they are.
pub fn unheeded_by_keys(a4: bool, instrument: bool) {
    let said = match (a4, instrument) {
        (true, true) => "--a4 and --instrument change nothing",
        (true, false) => "--a4 changes nothing",
        (false, true) => "--instrument changes nothing",
        (false, false) => return,
    };
    warn(format!("{said}: a MIDI file holds keys, and no sound"));
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

/// The failure for a file that was refused; `choice` is what of it was listened to.
fn refused_in(file: &Path, refused: &Refused, choice: Option<&FileChoice>) -> Failure {
    let channel = choice.and_then(|choice| choice.line.channel);
    let keys = choice.and_then(|choice| choice.keys.as_deref());
    let (what, mend) = match (refused, channel, keys) {
        (Refused::Empty, Some(channel), None) => (
            format!("no note sounds in it on channel {channel}"),
            format!("midi.channel = {channel} stands in your settings: leave it out there to hear all channels."),
        ),
        (Refused::Empty, None, Some(keys)) => (
            format!("no note sounds in it on the keys {keys}"),
            format!("midi.keys = \"{keys}\" stands in your settings: leave it out there to hear all keys."),
        ),
        (Refused::Empty, Some(channel), Some(keys)) => (
            format!("no note sounds in it on channel {channel} and the keys {keys}"),
            format!("midi.channel = {channel} and midi.keys = \"{keys}\" stand in your settings: leave one out there."),
        ),
        _ => (refused.to_string(), refused.mend()),
    };
    Failure::input(file.display(), what, mend)
}
