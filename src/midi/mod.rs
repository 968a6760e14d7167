//! What a keyboard says over a cable, made into the notes of one line: no port, no clock, no sound.
//!
//! Flow: bytes -> [`MessageReader`] -> [`ChannelMessage`]s -> [`KeyedLine`] -> [`NoteEvent`](crate::notes::NoteEvent)s. The stamps of the
//! driver become instants of the program's own clock in [`PortClock`]; what is bent and blown while a note sounds is its `NoteShape`. Sources: MIDI 1.0 Detailed Specification (messages,
//! running status, velocity 0), from memory.

mod keyed_line;
#[cfg(test)]
mod keyed_line_tests;
mod message;
mod port_clock;
mod shaping;
#[cfg(test)]
mod shaping_tests;
mod steering;

pub use keyed_line::{KeyedLine, LineChoice, WhichOfChord};
pub use message::{ChannelMessage, KeyMessage, MessageReader};
pub use port_clock::PortClock;
pub use shaping::level;
pub use steering::{Presser, Steer, Steering};
