//! A recording or a list of notes that was named, and what the ear hears in it.

use std::path::Path;

use crate::engine;
use crate::exchange;
use crate::files::{self, Recording};
use crate::notes::HeardNote;
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::talk::player::Who;

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

/// A list of notes from a file.
pub fn read_table(list: &Path) -> Result<Vec<HeardNote>, Failure> {
    let text = files::read_list(list)?;
    exchange::notes_from_table(&text).map_err(|(line, what)| {
        Failure::input(format!("{}:{line}", list.display()), what, "earfirst notes prints such a list.")
    })
}
