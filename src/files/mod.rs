//! Everything that touches the disk: sound files in and out, the live session folder and the finished session file, the
//! settings, the player's own patterns. The shell begins here.
//!
//! Flow: [`SessionFolder`] takes events and sound as they happen, and makes one zip of them at the end; [`read_sessions`]
//! gives finished, live and killed sittings back; [`read_sound`] makes a clip of a recording.
//!
//! Invariants: a kill at any moment loses at most what was being written; a full or read-only disk is a value that says what,
//! where and how to mend it, while the record goes on in memory; whole files appear by renaming, never half; a file from a
//! stranger is read within limits and is never unpacked to the disk.
//!
//! Sources: RIFF WAVE (Multimedia Programming Interface and Data Specifications 1.0, 1991) for our own sound files.

mod day;
mod failure;
mod finish;
#[cfg(test)]
mod full_disk;
mod growing;
mod live;
mod patient;
mod places;
mod recording;
mod reserve;
mod settings;
mod stored;
mod wav;

pub use day::{Today, today};
pub use failure::{Failure, FailureKind};
pub use finish::{finish_unfinished, unfinished};
pub use live::{Lost, RECORD_LIMIT, SOUND_LIMIT, SessionFolder};
pub use places::{Places, refuges, typed_folder, write_named, write_whole};
pub use recording::{Recording, read_recording, read_sound, write_wav};
pub use settings::{Calibration, KeepSound, Rests, Settings};
pub use stored::{Found, Stored, read_sessions};
