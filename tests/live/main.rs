//! Real sound through a virtual sound card, in a binary of its own: nothing else runs beside it, for it measures time.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod absent;
mod devices;
mod drilling;
mod on_a_terminal;
mod soak;
mod sound_card;
#[path = "../program/stage.rs"]
#[allow(dead_code, reason = "the terminal's own tests use all of it")]
mod stage;
mod troubled;
