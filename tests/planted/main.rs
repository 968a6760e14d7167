//! Every planted fault is told, and as people play no fault is told: lines of the library in the sound of eight instruments, through
//! the ear and the judge to the sentence. Each fault is planted by a rule of its own, apart from the program.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod cases;
#[path = "../program/chance.rs"]
#[allow(dead_code, reason = "another binary throws the rest")]
mod chance;
mod manner;
mod rhythm;
mod robot;
mod told;
