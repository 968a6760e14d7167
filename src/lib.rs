//! earfirst: sound -> notes -> verdict -> coach -> session -> report.
//!
//! A cue is sounded, the player answers on an instrument, every note is heard and held against what was asked, and what was
//! learnt chooses the next cue. The floors, lowest first; a lower one never imports a higher one (DEVELOPERS.md, executed by
//! `tests/house`):
//!
//! [`units`] · [`music`] [`sound`] · [`pattern`] [`chart`] [`notes`] · [`backing`] [`cue`] [`learn`] [`room`] · [`simulated`] [`verdict`] · [`coach`]
//! [`exchange`] · [`session`] [`words`] · [`report`] [`drill`] · [`devices`] [`files`] · [`engine`] [`tui`] · [`cli`]
#![forbid(unsafe_code)]
// They panic where the stream is full or gone, and a panic takes the sitting along: `cli::output` stands in their place.
#![deny(clippy::print_stdout, clippy::print_stderr)]

pub mod backing;
pub mod chart;
pub mod cli;
pub mod coach;
pub mod cue;
pub mod devices;
pub mod drill;
pub mod engine;
pub mod exchange;
pub mod files;
pub mod learn;
pub mod music;
pub mod notes;
pub mod pattern;
pub mod report;
pub mod room;
pub mod session;
pub mod simulated;
pub mod sound;
pub mod tui;
pub mod units;
pub mod verdict;
pub mod words;
