//! A MIDI or MusicXML file that was named, opened and read.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::exchange::{
    ImportedVoice, MidiTold, NotationKind, PlayedFile, Refused, chosen_in_midi, from_musicxml, played_in_midi,
};
use crate::files::{Places, UserSettings, plain};
use crate::midi::{LineChoice, WhichOfChord};
use crate::music::{self, Concert, Instrument, Intonation, NoteNames, PitchClass, Tonality, Written, spell_in};
use crate::talk::chosen_devices::{self, tuned, unbent};
use crate::talk::failure::Failure;
use crate::talk::misspelt;
use crate::talk::output::warn;
use crate::words::numbers::numbered;

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
    let channel = choice.line.channel;
    let (voice, several, told) =
        chosen_in_midi(&bytes, choice.line).map_err(|refused| refused_in(file, &refused, channel))?;
    choice.tell(file, several, &told, "they are taken by the beat");
    Ok(Some(voice))
}

/// What was played into a MIDI file; `None` for anything else, such as a recording. `on` is as for [`voice`].
pub fn played(file: &Path, on: Option<&Instrument>) -> Result<Option<PlayedFile>, Failure> {
    let Some((NotationKind::Midi, bytes)) = notation(file, NAME_A_SCORE)? else { return Ok(None) };
    let choice = FileChoice::of(on)?;
    let channel = choice.line.channel;
    let played = played_in_midi(&bytes, choice.line).map_err(|refused| refused_in(file, &refused, channel))?;
    choice.tell(file, played.several, &played.told, "they are taken as they sound");
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
}

impl FileChoice {
    fn of(on: Option<&Instrument>) -> Result<Self, Failure> {
        let stored = UserSettings::load(&Places::usual()?)?;
        misspelt::tell(&stored);
        let kept = || stored.instrument.as_deref().and_then(|name| music::instrument(name).ok());
        let instrument = on.or_else(kept).cloned();
        let line = chosen_devices::line(&stored);
        let tuned = instrument.as_ref().map_or(line, |instrument| tuned(line, instrument));
        Ok(Self { line: tuned, bend: line.bend, instrument, names: stored.note_names().unwrap_or_default() })
    }

    /// Says once what a player should know of a file besides its notes.
    fn tell(&self, file: &Path, several: bool, told: &MidiTold, timed: &str) {
        let file = file.display();
        if several {
            warn(format!("{file}: {}", several_keys(self.line)));
        }
        if told.tempo_changes {
            warn(format!("{file}: the tempo changes between the notes; {timed}"));
        }
        if let Some(stuck) = never_let_go(&told.never_let_go, self.names) {
            warn(format!("{file}: {stuck}"));
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

/// The sentence on keys that never come up: the first is named, by its sounding name.
fn never_let_go(keys: &[Concert], names: NoteNames) -> Option<String> {
    let first = keys.first()?;
    let first = names.with_octave(spell_in(Written(first.0), Tonality::major(PitchClass::new(0), false)));
    Some(match keys.len() - 1 {
        0 => format!("{first} is never let go: it ends with the next key"),
        more => format!("{first} and {} are never let go: each ends with the next key", numbered(more, "more key")),
    })
}

/// What is said where keys were left out of a line.
pub const fn several_keys(choice: LineChoice) -> &'static str {
    match choice.of_chord {
        WhichOfChord::Highest => "several keys sound at once; the highest counts (midi.chord in your settings)",
        WhichOfChord::Lowest => "several keys sound at once; the lowest counts (midi.chord in your settings)",
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_that_is_never_let_go_is_named_once_however_many_there_are() {
        let said = |keys: &[i32]| {
            never_let_go(&keys.iter().map(|key| Concert(*key)).collect::<Vec<_>>(), NoteNames::default())
        };
        assert_eq!(said(&[]), None);
        assert_eq!(said(&[72]).unwrap(), "C5 is never let go: it ends with the next key");
        assert_eq!(said(&[72, 60]).unwrap(), "C5 and 1 more key are never let go: each ends with the next key");
    }
}
