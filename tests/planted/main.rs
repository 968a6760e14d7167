//! Tests that every planted fault is told, and that none is told where nothing was planted and the robot plays as people do. The
//! lines are those of the library, in the sound of eight instruments, and go through the ear and the judge to the sentence. Each
//! fault is planted by a rule of its own, apart from the program.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod cases;
#[path = "../program/chance.rs"]
#[allow(dead_code, reason = "another binary throws the rest")]
mod chance;
mod manner;
mod rhythm;
mod robot;
mod told;
