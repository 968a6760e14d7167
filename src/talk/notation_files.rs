//! A MIDI or MusicXML file that was named, opened and read.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::exchange::{
    HeldOver, HeldReading, ImportedVoice, MidiTold, NotationKind, PlayedFile, Refused, chosen_in_midi, from_musicxml,
    played_in_midi,
};
use crate::files::{Places, UserSettings, plain};
use crate::midi::{KeysBeside, LineChoice, LongHolds, WhichOfChord};
use crate::music::{Instrument, Intonation};
use crate::notes::HeardNote;
use crate::talk::chosen_devices::{self, tuned, unbent};
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::talk::player::Who;
use crate::talk::{keys_told, misspelt};
use crate::words::Page;

/// Largest number of bytes that are read of a foreign file; the reader refuses a longer one.
const LIMIT: u64 = 2 << 20;

/// What helps where a file is no notation.
pub const NAME_A_SCORE: &str = "Name a .mid, .musicxml, .mxl or .xml file.";

/// Who reads a file.
#[derive(Clone, Copy)]
pub enum ReadBy<'a> {
    /// A player: keys have their names on the page.
    Player(&'a Page),
    /// As a player, where it is known only later whether the line is the one that was asked.
    Judge(&'a Page),
    /// Whoever asks for numbers, which are as they sound, and so are the names of keys. The instrument is the one that was typed, or else
    /// the one in the settings.
    Sounding(Option<&'a Instrument>),
    /// Whoever imports: keys have their names on the page of the instrument that was typed, and their sounding names where none was.
    Importer(Option<&'a Instrument>),
}

impl<'a> From<&'a Who> for ReadBy<'a> {
    fn from(who: &'a Who) -> Self {
        Self::Player(&who.page)
    }
}

impl<'a> From<Option<&'a Instrument>> for ReadBy<'a> {
    fn from(on: Option<&'a Instrument>) -> Self {
        Self::Sounding(on)
    }
}

/// The voice of a MIDI or MusicXML file; `None` for anything else, such as a recording. What the settings say of a MIDI instrument counts
/// for a MIDI file too.
pub fn voice<'a>(file: &Path, by: impl Into<ReadBy<'a>>) -> Result<Option<ImportedVoice>, Failure> {
    let Some((kind, bytes)) = notation(file, NAME_A_SCORE)? else { return Ok(None) };
    if kind == NotationKind::Score {
        return from_musicxml(&bytes).map(Some).map_err(|refused| refused_in(file, &refused, None));
    }
    let choice = FileChoice::of(by.into())?;
    let (voice, beside, told) =
        chosen_in_midi(&bytes, choice.line).map_err(|refused| refused_in(file, &refused, Some(&choice)))?;
    choice.tell(file, &beside, &told, "they are taken by the beat");
    choice.tell_hands(file, &voice.line.notes.iter().map(|note| note.pitch.0).collect::<Vec<_>>(), &beside);
    Ok(Some(voice))
}

/// What was played into a MIDI file; `None` for anything else, such as a recording.
pub fn played<'a>(file: &Path, by: impl Into<ReadBy<'a>>) -> Result<Option<PlayedFile>, Failure> {
    let Some((played, choice)) = read_played(file, by.into())? else { return Ok(None) };
    choice.tell_hands(file, &pitches(&played.line), &played.beside);
    Ok(Some(played))
}

fn read_played(file: &Path, by: ReadBy<'_>) -> Result<Option<(PlayedFile, FileChoice)>, Failure> {
    let Some((NotationKind::Midi, bytes)) = notation(file, NAME_A_SCORE)? else { return Ok(None) };
    let choice = FileChoice::of(by)?;
    let played = played_in_midi(&bytes, choice.line).map_err(|refused| refused_in(file, &refused, Some(&choice)))?;
    choice.tell(file, &played.beside, &played.told, "they are taken as they sound");
    Ok(Some((played, choice)))
}

/// What was played into a MIDI file that is going to be judged, with who says later where it may be two hands.
pub fn played_for_judge(file: &Path, page: &Page) -> Result<Option<(PlayedFile, Hands)>, Failure> {
    read_played(file, ReadBy::Judge(page)).map(|read| read.map(|(played, choice)| (played, Hands(choice))))
}

/// Who says of the line of a MIDI file that was not all right where it may be two hands.
pub struct Hands(FileChoice);

impl Hands {
    /// Says it: by the keys up to which all notes lie that were too many, and those from which the others do, or else by how the line leaps.
    pub fn tell(&self, file: &Path, line: &[HeardNote], beside: &KeysBeside, apart: Option<(i32, i32)>) {
        let (FileChoice { line: choice, page, kept, .. }, pitches) = (&self.0, pitches(line));
        let below = apart.filter(|_| choice.of_chord == WhichOfChord::Highest);
        let known = below.and_then(|apart| keys_told::registers(apart, &pitches, *choice, beside, page, kept));
        match known {
            Some(said) => warn(format!("{}: {said}", file.display())),
            None => self.0.tell_hands(file, &pitches, beside),
        }
    }
}

fn pitches(line: &[HeardNote]) -> Vec<i32> {
    line.iter().map(|note| note.pitch.nearest()).collect()
}

/// Which messages of a file that was played on a MIDI instrument are listened to.
struct FileChoice {
    line: LineChoice,
    /// Whether the settings ask for the bend.
    bend: bool,
    /// The page on which keys have their names, and whether it is that of an instrument which was typed or is kept.
    page: Page,
    known: bool,
    /// The page by which the settings name keys.
    kept: Page,
    /// The keys that are listened to, as they stand in the settings.
    keys: Option<String>,
}

impl FileChoice {
    fn of(by: ReadBy<'_>) -> Result<Self, Failure> {
        let stored = UserSettings::load(&Places::usual()?)?;
        misspelt::tell(&stored);
        let line = chosen_devices::line(&stored);
        let (page, known) = match by {
            ReadBy::Player(page) | ReadBy::Judge(page) => (page.clone(), true),
            ReadBy::Sounding(on) | ReadBy::Importer(on) => {
                let (page, known) = chosen_devices::kept_page(&stored, on)?;
                let written = matches!(by, ReadBy::Importer(Some(_)));
                (if written { page } else { page.in_concert_pitch() }, known)
            }
        };
        let tuned = if known { tuned(line, &page.instrument) } else { line };
        let (kept, _) = chosen_devices::kept_page(&stored, None)?;
        Ok(Self { line: tuned, bend: line.bend, page, known, kept, keys: stored.midi.keys })
    }

    /// Says where the notes of a line may be those of two hands.
    fn tell_hands(&self, file: &Path, pitches: &[i32], beside: &KeysBeside) {
        if let Some(said) = keys_told::two_hands(pitches, self.line, beside, &self.page, &self.kept) {
            warn(format!("{}: {said}", file.display()));
        }
    }

    /// Says once what a player should know of a file besides its notes.
    fn tell(&self, file: &Path, beside: &KeysBeside, told: &MidiTold, timed: &str) {
        let file = file.display();
        // A key that is held over all others is named below.
        let long = if told.held.is_some() { LongHolds::default() } else { beside.long };
        for said in keys_told::beside_in_file(self.line, &KeysBeside { long, ..*beside }, &self.page) {
            warn(format!("{file}: {said}"));
        }
        if told.tempo_changes {
            warn(format!("{file}: the tempo changes between the notes; {timed}"));
        }
        let again = keys_told::struck_again(told, &self.page);
        for said in keys_told::not_let_go(told, &self.page).into_iter().chain(again).chain(keys_told::drums(told)) {
            warn(format!("{file}: {said}"));
        }
        let without = |held: &HeldOver| told.taken == Some(HeldReading::Without(held.chord.clone()));
        if let Some(held) = &told.held {
            warn(format!("{file}: {}", keys_told::held_over(held, without(held), &self.page)));
        }
        if let Some(reading @ HeldReading::LetGo) = &told.taken {
            let said = keys_told::read_otherwise(reading, &|_| false, &self.page, "the line is taken");
            warn(format!("{file}: {said}"));
        }
        let instrument = Some(&self.page.instrument).filter(|_| self.known);
        let fixed = instrument.filter(|instrument| instrument.intonation == Intonation::Unscored);
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

/// Refuses a MIDI or MusicXML file where a sound is asked for; `mend` as in [`notation`]. That it is damaged or empty is said first.
pub fn no_notes(file: &Path, mend: &str) -> Result<(), Failure> {
    if !file.is_file() {
        return Ok(());
    }
    let read = match notation(file, mend)? {
        None => return Ok(()),
        Some((NotationKind::Midi, bytes)) => played_in_midi(&bytes, LineChoice::default()).map(|_| ()),
        Some((NotationKind::Score, bytes)) => from_musicxml(&bytes).map(|_| ()),
    };
    if let Err(refused @ (Refused::Empty | Refused::Drums | Refused::Damaged { .. })) = read {
        return Err(refused_in(file, &refused, None));
    }
    let mend = "earfirst notes FILE shows the notes of a MIDI file, earfirst analyse FILE takes a line apart.";
    Err(Failure::input(file.display(), "it holds notes, and no sound that could be checked", mend))
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
