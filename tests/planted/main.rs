//! Tests that planted faults are told (at least .85 of them), and that few are told where nothing was planted and the robot plays as people
//! do (in at most .1 of the answers). The lines are those of the library, in the sound of eight instruments; they go through the ear and
//! the judge to the sentence. Each fault is planted by a rule that is written apart from the program's.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod cases;
#[path = "../program/chance.rs"]
#[allow(dead_code, reason = "another binary throws the rest")]
mod chance;
#[allow(dead_code, reason = "only the live tests ask a drill for the line of a take")]
mod manner;
mod rhythm;
mod robot;
mod rule;
mod told;
