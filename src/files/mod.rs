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

mod commenting;
mod decoding;
mod deferred_error;
mod disk_reserve;
mod each_session;
mod file_error;
mod fingerprint;
mod flac;
#[cfg(test)]
mod full_disk;
mod index;
mod places;
mod record_file;
mod recording;
mod session_folder;
mod session_layout;
mod session_zip;
mod sessions;
mod sessions_meant;
mod settings;
mod settings_change;
mod settings_midi;
mod settings_players;
mod settings_who;
mod settings_words;
mod stored_sound;
mod today;
mod told;
mod wav;
mod zip_reading;

pub use commenting::add_comment;
pub use each_session::each_session;
pub use file_error::{FileError, FileErrorKind};
pub use fingerprint::sha256_hex;
pub use flac::flac_of;
pub use index::{CommentedSitting, IndexedSitting, SCHEMA, commented, forget, indexed, learnt};
pub use places::{
    Places, plain, read_chart, read_lesson, read_list, read_patterns, refuges, typed_folder, write_named,
    write_private, write_whole,
};
pub use recording::{Recording, read_sound, write_wav};
pub use session_folder::{LossCounts, SessionFolder};
pub use session_zip::{finish_unfinished, unfinished};
pub use sessions::{SessionEntry, SessionIndex, Stored, read_sessions, survey, survey_below};
pub use settings::{Calibration, KeepSound, RestSettings, UserSettings};
pub use settings_midi::{ChordNote, KeyOrPedal};
pub use today::today;
pub use told::{keep_told, untold};
