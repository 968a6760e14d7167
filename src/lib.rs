//! earfirst: sound -> notes -> verdict -> coach -> session -> report.
#![forbid(unsafe_code)]

pub mod cue;
pub mod music;
pub mod notes;
pub mod pattern;
pub mod sound;
pub mod units;
