//! Real sound through a virtual sound card, in a binary of its own: nothing else runs beside it, for it measures time.
//!
//! Each test starts a private sound server and says "skipped" where none can be had; with `CI=true` a skip is a failure. The tests
//! that measure milliseconds try again and again for stretches in which the sound has no holes. Where none came in two and a half
//! minutes, they say that nothing was measured; with `EARFIRST_LONGER=1` that is a failure. `EARFIRST_LONGER=1` also takes devices
//! away fifty times, trades round twelve keys, answers with twenty planted faults a kind (`planted_live.rs`), and lets practice last two
//! hours (or `EARFIRST_SOAK_MINUTES`). `EARFIRST_KILLS=200` kills record and program more often, `EARFIRST_MUTATIONS=8050` spoils more
//! session files. `cargo bench --bench program` times the first screen and `notes`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod absent;
mod asked_by_lesson;
mod at_the_microphone;
mod band;
#[path = "../program/band_heard.rs"]
mod band_heard;
#[path = "../planted/cases.rs"]
mod cases;
#[path = "../program/chance.rs"]
#[allow(dead_code, reason = "another binary throws the rest")]
mod chance;
mod devices;
mod drilling;
#[path = "../planted/manner.rs"]
#[allow(dead_code, reason = "an ear without fault is asked elsewhere")]
mod manner;
mod on_a_terminal;
mod planted_answer;
mod planted_live;
#[path = "../planted/rhythm.rs"]
mod rhythm;
#[path = "../planted/robot.rs"]
mod robot;
#[path = "../planted/rule.rs"]
mod rule;
mod soak;
mod sound_card;
#[path = "../program/stage.rs"]
#[allow(dead_code, reason = "the terminal's own tests use all of it")]
mod stage;
mod troubled;
