//! The player's files: sound files in and out, the live session folder and the finished session file, the index, the settings, the
//! player's own patterns and charts. (MIDI and MusicXML files are read in `talk/notation_files.rs`.)
//!
//! Flow: [`SessionFolder`] takes events and sound as they happen, and makes one zip of them at the end; [`read_sessions`]
//! gives finished, live and killed sittings back; [`read_sound`] makes a clip of a recording.
//!
//! Invariants: a kill at any moment loses at most what was being written; a full or read-only disk is a value that says what,
//! where and how to mend it, while the record goes on in memory; whole files appear by renaming or linking, never half (a school's
//! new key apart); a file from a stranger is read within limits and is never unpacked to the disk.
//!
//! Sources: RIFF WAVE (Multimedia Programming Interface and Data Specifications 1.0, 1991) for our own sound files.
//!
//! # A sitting on the disk
//! A live sitting is a folder: `session.jsonl` (the record, see [`session`](crate::session)), `answers.wav` (its header valid at
//! any moment) and `reserve` (room for the record: sound is written only while that is taken). A verdict stands in the record before
//! the screen shows it: as a draft while the answer sounds, which the final lines overwrite (`engine/written_first.rs`; a disk that
//! takes longer than .25 s is not waited for). A kill loses only the answer that is being played, and the sound of the one before
//! it. A power cut can lose more: `session.jsonl` and the sound are synced after the header, each final verdict and the end, and
//! the zip when it is whole; a cue, a pause or a draft is not synced, nor is the entry of the zip in its folder. So a power cut
//! loses at most what came since the last final verdict; a trade is synced after each chorus.
//!
//! A finished sitting is one zip: the record, `review.txt`, and the sound as `answers.flac` (mono, 16 bits, without loss). The
//! sound is decoded and compared before the live folder is removed; sound of a rate that FLAC cannot store stays WAV. The zip has
//! no format number of its own: older ones hold `answers.wav`, and places count samples in both. Zips that somebody unpacked or
//! packed anew are read too. Folders are made with mode 0700, files with 0600; only what is written out for others (`write_named`,
//! `write_whole`, `write_wav`) gets the usual modes.
//!
//! Settings are TOML (`settings.rs`). An unknown key or table is kept, at the top and in the tables; in `[rests]` and `[midi]` it is an
//! error, because it would be a misspelt one. Remarks (`#`) are lost with the next change. The index is described in `index`.
//!
//! # To change it: a codec
//! To read sound in another codec, in this order:
//! 1. A codec that symphonia knows: its feature in `Cargo.toml`, its `opt-level` in the tables for dev and release there, and
//!    `Cargo.lock`. A codec whose file symphonia takes apart but does not decode (Opus in Ogg): another crate's `AudioDecoder`, made
//!    in `over` of `decoding.rs`. A file that symphonia cannot open: a second decoder, chosen in `decode` of `recording.rs`. A new
//!    crate goes into the table of DEVELOPERS.md.
//! 2. What is said of it: `SOUND_FORMATS` and the refusal of Opus in `decoding.rs`, the doc of `recording.rs`, help in three files
//!    of `cli/args`.
//! 3. A sound in `tests/data/sounds` and its test in `tests/program/records/recordings.rs`.
//!
//! `SIGNS` in `file_kind.rs` guards what is written, not what is read. To keep sound in another codec: `flac.rs`, `stored_sound.rs`,
//! `session_zip.rs`, and the text above. `.ci/run` fails where the release is 15 MB or more.

mod commenting;
mod decoding;
mod deferred_error;
mod disk_reserve;
mod each_session;
mod file_error;
mod file_kind;
mod fingerprint;
mod flac;
#[cfg(test)]
mod full_disk;
mod index;
mod places;
mod record_file;
mod recording;
#[cfg(feature = "school")]
mod school_key;
mod session_folder;
mod session_layout;
mod session_zip;
mod sessions;
mod sessions_meant;
mod settings;
mod settings_change;
mod settings_day;
mod settings_devices;
mod settings_errors;
mod settings_held_out;
mod settings_midi;
mod settings_plan;
mod settings_players;
mod settings_rests;
mod settings_slips;
mod settings_steering;
mod settings_who;
mod settings_words;
mod shown_comments;
mod stored_sound;
#[cfg(feature = "school")]
mod tables;
mod today;
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
#[cfg(feature = "school")]
pub use school_key::SchoolKey;
pub use session_folder::{LossCounts, SessionFolder};
pub use session_zip::{finish_unfinished, unfinished};
pub use sessions::{SessionEntry, SessionIndex, Stored, read_sessions, survey, survey_below};
pub use settings::{KeepSound, UserSettings};
pub use settings_day::LeftOver;
pub use settings_devices::Calibration;
pub use settings_midi::{KeyOrPedal, NoteOfChord};
pub use settings_rests::RestSettings;
pub use shown_comments::{keep_shown, not_shown};
#[cfg(feature = "school")]
pub use tables::MonthOfTables;
pub use today::{Today, today};
