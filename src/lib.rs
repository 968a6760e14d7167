//! earfirst: sound -> notes -> verdict -> coach -> session -> report.
//!
//! A cue is sounded, the player answers on an instrument, every note is heard and compared with what was asked, and what was
//! learnt chooses the next cue. These are the floors, lowest first; a room never imports a room of a higher floor (the table is in
//! DEVELOPERS.md, and `tests/house` checks it):
//!
//! [`units`] · [`music`] [`sound`] · [`pattern`] [`chart`] [`notes`] · [`backing`] [`phrase`] [`cue`] [`learn`] [`midi`] [`room`] ·
//! [`simulated`] [`free`] [`verdict`] [`lesson`] · [`coach`] [`trade`] · [`session`] [`words`] · [`exchange`] [`report`] [`drill`] ·
//! [`devices`] [`files`] · [`engine`] [`tui`] · [`talk`] · [`cli`]
//!
//! The rooms are private, so that the compiler names what nobody uses; tests and benches reach them through [`outside`].
#![forbid(unsafe_code)]
// `print!` and `eprint!` panic where standard output is closed or its disk is full, and a panic would end the sitting: `talk::output`
// prints instead.
#![deny(clippy::print_stdout, clippy::print_stderr)]

mod backing;
mod chart;
mod cli;
mod coach;
mod cue;
mod devices;
mod drill;
mod engine;
mod exchange;
mod files;
mod free;
mod learn;
mod lesson;
mod midi;
mod music;
mod notes;
pub mod outside;
mod pattern;
mod phrase;
mod report;
mod room;
mod session;
mod simulated;
mod sound;
mod talk;
mod trade;
mod tui;
mod units;
mod verdict;
mod words;

pub use cli::run;
