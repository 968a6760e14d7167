//! From samples to notes, streaming and causal: blocks of any length in, frames and notes out.
//!
//! This floor knows no music: no keys, no names, and never the notes that are expected. The range to search is an argument
//! in hertz. All instants are on the clock of the input stream (its first sample is 0 s).

mod heard;

pub use heard::{EarSettings, Frame, HeardNote, Told};
