//! earfirst: sound -> notes -> verdict -> coach -> session -> report.
#![forbid(unsafe_code)]

pub mod notes;
pub mod sound;
pub mod units;
