//! What a keyboard says over a cable, made into the notes of one line: no port, no clock, no sound.
//!
//! Flow: bytes -> [`MessageReader`] -> [`ChannelMessage`]s -> [`KeyedLine`] -> [`NoteEvent`](crate::notes::NoteEvent)s. The stamps of the
//! driver become instants of the program's own clock in [`PortClock`]; what is bent and blown while a note sounds is its `NoteShape`.
//! Sources: MIDI 1.0 Detailed Specification (messages, running status, velocity 0), from memory.
//!
//! # To change it: what a key or a pedal asks for
//! `steering.rs` ([`SteeringKey`], [`Steer`]); another kind of message: `message.rs` (drops programme changes and the pressure on a
//! single key), `keyed_line.rs` (`take` drops other channels before it steers), `shaping.rs`, `engine/own_voice.rs`; its command:
//! `engine/midi_ear.rs`; kept: `files/settings_midi.rs` (`KeyOrPedal`), `talk/chosen_devices.rs`; taught: `talk/midi_check.rs`,
//! `cli/args/to_teach.rs`; README. A drill at a microphone opens no port. A second port: opened in `talk/rig.rs`, joined in
//! `engine/midi_player.rs` (`asked`, `trouble`), taught in `talk/midi_check.rs`, named in `files/settings_midi.rs`; which is the piano:
//! `meant` in `devices/midi_ports.rs`; which cable is out: `room/sound_fault.rs`, `words/sound_fault.rs`. `cargo test keys_and_cable`.
//!
//! What is no note of the line is counted in `hiding.rs` and `keyed_line.rs`, and said by `talk/keys_told.rs` (files, `hear`) and
//! `engine/midi_ear.rs` (drills); how else a file may be read: `exchange/midi_held.rs`.

mod bending;
mod beside;
mod choice;
mod doubtful;
#[cfg(test)]
mod doubtful_tests;
mod hiding;
mod keyed_line;
#[cfg(test)]
mod keyed_line_tests;
mod message;
mod port_clock;
mod registers;
mod shaping;
#[cfg(test)]
mod shaping_tests;
mod steering;

pub use beside::{ChannelSet, KeySlip, KeySlips, KeySpan, KeysBeside, LongHold, LongHolds, MANY_UNDER};
pub use choice::{LineChoice, WhichOfChord};
pub use keyed_line::KeyedLine;
pub use message::{ChannelMessage, KeyMessage, MessageReader};
pub use port_clock::PortClock;
pub use registers::two_registers;
pub use shaping::level;
pub use steering::{Steer, Steering, SteeringKey, plays_or_sets};
