//! From samples to notes, streaming and causal: blocks of any length in, frames and notes out.
//!
//! [`Ear`] is the whole: `bands` takes the stream in, `correlation` finds what repeats in it, `pick` chooses a pitch,
//! `background` learns the room, and `segmenter` decides where notes begin, change, come again and end. [`Rules`] holds every
//! number that was chosen by measurement.
//!
//! This floor knows no music: no keys, no names, and never the notes that are expected. The range to search is an argument
//! in hertz. All instants are on the clock of the input stream (its first sample is 0 s).

mod answer;
mod background;
mod bands;
mod clock;
mod correlation;
mod ear;
mod filters;
mod heard;
mod history;
mod hum;
mod look;
mod opinion;
mod pick;
mod rules;
mod segmenter;
mod tracker;
mod turns;

pub use answer::{AnswerEnd, Silence};
pub use ear::{Ear, hear_clip};
pub use heard::{EarSettings, Frame, HeardNote, Told};
pub use rules::Rules;
