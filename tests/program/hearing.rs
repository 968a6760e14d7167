//! The ear against sound whose truth is known exactly: every tone here is computed, nothing is recorded or downloaded.
//! Pitches follow equal temperament at A4 = 440 Hz (ISO 16:1975).

mod disturbed;
mod figures;
mod made;
mod notes;
mod pitch;
mod players;
mod recorded;
mod streaming;
