//! The ear hears sound whose notes are known: computed tones, and in `recorded` labelled notes of real players.
//! Pitches follow equal temperament at A4 = 440 Hz (ISO 16:1975).

mod disturbed;
mod figures;
mod made;
mod notes;
mod pitch;
mod players;
mod recorded;
mod streaming;
