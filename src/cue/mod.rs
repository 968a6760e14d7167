//! What is asked, as data and as sound.
//!
//! A [`Cue`] is one thing asked. [`sound`] renders it: the count-in of a bar, the notes in exact equal temperament, and the
//! instants everything later counts from. The end of the cue is known to the sample: the last sample of the last note's
//! nominal length, before its release.

mod asked;
mod layout;
mod loudness;
mod rendered;
mod rendering;

pub use asked::{Cue, Form, Timing};
pub use loudness::{FIRST, FULL, Loudness};
pub use rendered::{CueSound, sound, sound_in};
pub use rendering::Rendering;
