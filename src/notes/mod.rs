//! From samples to notes, streaming and causal: blocks of any length in, frames and notes out.
//!
//! [`Ear`] is the whole: `bands` takes the stream in, `correlation` finds what repeats in it, `pick` chooses a pitch,
//! `odd_partials` tells octaves apart, `background` learns the room, and `segmenter` decides where notes begin, change, come again
//! and end. [`Rules`] has most of the numbers that were chosen by measurement.
//!
//! This floor knows no music: no keys, no names, and never the notes that are expected. The range to search is an argument
//! in hertz. All instants are on the clock of the input stream (its first sample is 0 s).
//!
//! # To change it: a window (how much sound a pitch rests on)
//! - Its shape: `sums` and `normalise` in `correlation.rs`, `repeats` in `tracker.rs`.
//! - Its length: `short_window_hops`, `window_lags`, `least_window_hops` in `rules.rs` (424 Hz stands in the docs there too). The longest
//!   window and its lag together stay below `ENOUGH` hops of `background.rs` (112 of 116 ms today) and below `KEEP_S` of `bands.rs`.
//! - Their number: `tracker.rs` makes three tables (`SHORT_HZ`, `LONG_HZ`), which are known by their place. Its `coherence` takes
//!   the short window, its `in_the_low_band` asks `tables[2]` for the double periods that it holds, and `yin_check.rs` and
//!   `onset_detector/inputs.rs` take bands by number.
//!
//! Windows are inputs of the onset detector (`onset_detector/inputs.rs`). So whoever changes one learns the detector anew with
//! `benches/ear/train.py` and raises `EAR_VERSION` in `ear.rs`. `cargo bench --bench ear -- --seed 1` measures (its figures go into
//! `benches/FIGURES.md`). Tests: `cargo test hearing`, `cargo test --test planted`, `cargo bench --bench hearing`.

mod analysis_frame;
mod answer;
mod background;
mod bands;
mod correlation;
mod ear;
mod filters;
mod hum;
mod note_event;
mod odd_partials;
mod onset_detector;
mod phasor;
mod pick;
mod rules;
mod sample_history;
mod segmenter;
mod time_base;
mod tracker;
mod yin_check;

pub use answer::{AnswerEnd, AnswerSoFar, HELD_NOTE, Silence};
pub use ear::{EAR_VERSION, Ear, hear_clip};
pub use note_event::{EarSettings, Frame, HeardNote, NoteEvent};
pub use rules::Rules;
