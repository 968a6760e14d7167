//! Theory without time or sound: pitch, key, chord, instrument.
//!
//! A written pitch is what stands on the player's page, a concert pitch is what sounds; they are different types, joined
//! only by an [`Instrument`]. Everything between the page and the screen is concert pitch.

mod catalogue;
mod file;
mod instrument;
mod key;
mod nearest;
mod pitch;
mod spelling;
mod unreadable;

pub use catalogue::{UnknownInstrument, instrument, instruments};
pub use instrument::{Clef, Instrument, Intonation, Level, Sounding};
pub use key::{ConcertKey, WrittenKey};
pub use pitch::{Concert, HalfSteps, PitchClass, Range, Written};
pub use spelling::{Letter, PitchName, Spelled};
pub use unreadable::Unreadable;
