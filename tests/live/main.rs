//! Real sound through a virtual sound card, in a binary of its own: nothing else runs beside it, for it measures time.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

mod devices;
mod drilling;
mod sound_card;
