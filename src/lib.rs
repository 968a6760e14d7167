//! earfirst: sound -> notes -> verdict -> coach -> session -> report.
#![forbid(unsafe_code)]

pub mod cli;
pub mod coach;
pub mod cue;
pub mod devices;
pub mod drill;
pub mod files;
pub mod music;
pub mod notes;
pub mod pattern;
pub mod report;
pub mod session;
pub mod simulated;
pub mod sound;
pub mod tui;
pub mod units;
pub mod verdict;
pub mod words;
