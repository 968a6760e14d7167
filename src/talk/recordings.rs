//! A recording or a list of notes that was named, and what the ear hears in it.

use std::path::Path;

use crate::engine;
use crate::exchange;
use crate::files::{self, Recording};
use crate::notes::HeardNote;
use crate::report::{self, NoteMoved};
use crate::room::{SecondVoice, SoundCheck};
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::talk::player::Who;
use crate::units::{Decibels, Seconds};
use crate::words::sound_check::{HeardThrough, opinions, second_voice};

/// A recording that nowhere gets louder than this is silent to anybody who listens.
const SILENCE: Decibels = Decibels(-60.0);

/// Opens a recording; a failure says what to do, and a warning says it where the end is missing.
pub fn read(file: &Path) -> Result<Recording, Failure> {
    let recording = Recording::open(file)?;
    if let Some(missing) = recording.missing {
        let name = file.display();
        warn(format!("{name} is cut off, {:.1} s before its end; what is there is heard", missing.0));
    }
    Ok(recording)
}

/// The notes heard in a recording of this player.
pub fn heard(file: &Path, who: &Who) -> Result<Vec<HeardNote>, Failure> {
    let recording = read(file)?;
    let ear = engine::ear_settings(recording.rate, who.a4, Some(&who.page.instrument));
    Ok(engine::hear_recording(&ear, &recording, false)?.1)
}

/// The highest level of a recording; `None` where it is as good as silent.
pub fn peak(file: &Path) -> Result<Option<Decibels>, Failure> {
    let recording = Recording::open(file)?;
    let mut check = SoundCheck::new(recording.rate);
    recording.play(&mut |block| check.hear(block))?;
    Ok(Some(check.levels().peak).filter(|peak| peak.0 > SILENCE.0))
}

/// What was heard in a recording.
pub struct HeardRecording {
    /// Its notes.
    pub notes: Vec<HeardNote>,
    /// How these moved while they sounded.
    pub moved: Vec<NoteMoved>,
    /// Length of the part that is missing, where the file is cut off.
    pub missing: Option<Seconds>,
}

/// The notes heard in a recording of this player, and how they moved while they sounded. Where there is none, or a second voice below them, a
/// warning says so.
pub fn heard_moving(file: &Path, who: &Who) -> Result<HeardRecording, Failure> {
    let recording = read(file)?;
    let ear = engine::ear_settings(recording.rate, who.a4, Some(&who.page.instrument));
    let (frames, notes) = engine::hear_recording(&ear, &recording, true)?;
    let (mut check, mut second) = (SoundCheck::new(recording.rate), SecondVoice::new(recording.rate));
    recording.play(&mut |block| {
        check.hear(block);
        second.hear(block);
    })?;
    let said = match second.below(&notes, who.a4) {
        Some(pitch) => Some(second_voice(&who.page.heard(pitch))),
        None if notes.is_empty() && recording.missing.is_none() => {
            opinions(&check, 0, HeardThrough::Recording { missing: None }, None).into_iter().next()
        }
        None => None,
    };
    said.into_iter().for_each(|said| warn(format!("{}: {said}", file.display())));
    let moved = report::moved_notes(&notes, &frames, who.a4);
    Ok(HeardRecording { notes, moved, missing: recording.missing })
}

/// A list of notes from a file.
pub fn read_table(list: &Path) -> Result<Vec<HeardNote>, Failure> {
    let text = files::read_list(list)?;
    exchange::notes_from_table(&text).map_err(|(line, what)| {
        Failure::input(format!("{}:{line}", list.display()), what, "earfirst notes prints such a list.")
    })
}
