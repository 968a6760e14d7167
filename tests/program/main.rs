//! The program seen from outside, one module a subject.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod asking;
mod chance;
mod coaching;
mod cues;
mod desk;
mod drills;
mod echoes;
mod exchanging;
mod explained;
mod fair;
mod faltering;
mod grading;
mod hearing;
mod learning;
mod line_by_line;
mod machines;
mod named;
mod narrow;
mod nothing_lost;
mod panics;
mod pattern_files;
mod patterns;
mod played_back;
mod read_back;
mod records;
mod rehearsal;
mod rendered;
mod screens;
mod simulated;
mod stage;
mod terminal;
mod theory;
mod truthful;
mod typed;
mod unfit;
