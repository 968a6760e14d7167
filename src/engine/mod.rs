//! The drill joined to the world outside, in simulated time and on live sound.
//!
//! Flow of a sitting: an [`AudioSource`] gives samples, the [`Listener`] takes the echo of the cue out and makes notes of the
//! rest, the [`DrillLoop`] tells them to the drill and does what it asks for: a cue to the [`CueOutput`], a state to the screen,
//! a line to the record. [`RunningSitting`] runs loop and record on threads of their own.
//!
//! The loop knows only a [`NoteSource`]: the listener is one, and a [`MidiPlayer`], whose instrument says itself which notes it
//! plays, is the other.
//!
//! # Threads
//! Capture callback -> ring of samples -> hearing thread (`Ear`, `Echo`, `Drill`) -> channels -> record thread, and gate
//! (`written_first.rs`) -> screen thread (a trade has its own record thread, `trade_keeping.rs`);
//! clips go back over a ring to the playback callback, commands come over a bounded channel. The hearing thread polls: no callback
//! wakes it. Demo, `grade`, `notes` and `analyse` run the same step without a ring.
//!
//! # To change it: a source of notes
//! Write a [`NoteSource`] that is a [`CueOutput`] too: it is then a [`Rig`], as [`MidiPlayer`] is. Outside a drill a [`Hearing`]
//! listens (`listening.rs`). The source's port and crate belong in `devices`, its faults in `room/sound_fault.rs`, their words in
//! `words/sound_fault.rs`; it is chosen in `talk/chosen_devices.rs`, and opened in `talk/rig.rs` (for a drill) and in
//! `talk/microphone.rs`. Test: `cargo test keys_and_cable`. A source of sound instead of notes is an [`AudioSource`] under the
//! [`Listener`].

mod audio;
mod clip_rooms;
mod device_audio;
mod drill_loop;
mod judge_again;
mod kept_input;
mod listener;
mod listening;
mod midi_ear;
mod midi_player;
mod note_source;
mod own_voice;
mod player_ear;
mod record_thread;
mod recordings;
mod running_sitting;
mod simulated_audio;
mod simulated_player;
mod sound_history;
mod sounded_cue;
mod sounded_notes;
mod trade_again;
mod trade_keeping;
mod trading;
mod typed_lines;
mod unasked;
mod written_first;

pub use audio::{AudioSource, CueOutput, PlacedCue};
pub use device_audio::{DeviceAudio, NotCalibrated, quiet};
pub use drill_loop::{DrillLoop, Out, rendering, unattended};
pub use judge_again::{JudgedAgain, judge_again};
pub use listener::{HeardBlock, Listener};
pub use listening::{Hearing, HeldNote, ListeningHooks};
pub use midi_ear::{KeySource, MidiEar};
pub use midi_player::MidiPlayer;
pub use note_source::{NoteSource, Rig};
pub use player_ear::PlayerEar;
pub use record_thread::{Finished, finish_what_was_left};
pub use recordings::{ear_settings, hear_recording, listen_to_recording};
pub use running_sitting::{Keeping, PreparedSitting, RunningSitting, SittingEnd};
pub use simulated_audio::SimulatedAudio;
pub use simulated_player::simulated_player;
pub use sounded_notes::sounded_notes;
pub use trade_again::trade_again;
pub use trade_keeping::TradeKeeping;
pub use trading::trade;
pub use typed_lines::typed_lines;
