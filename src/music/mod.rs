//! Theory without time or sound: pitch, key, chord, instrument.
//!
//! A written pitch is what stands on the player's page, a concert pitch is what sounds; they are different types, joined
//! only by an [`Instrument`]. Everything between the page and the screen is concert pitch.

mod instrument;
mod key;
mod pitch;

pub use instrument::{Clef, Instrument, Intonation, Sounding};
pub use key::{ConcertKey, WrittenKey};
pub use pitch::{Concert, HalfSteps, PitchClass, Range, Written};
