//! What is asked, as data and as sound.
//!
//! A [`Cue`] is one thing asked. [`sound`] renders it: the count-in of a bar, the notes in exact equal temperament, and the
//! instants everything later counts from. The end of the cue is known to the sample: the last sample of the last note's
//! nominal length, before its release.
//!
//! # To change it: a cue form
//! `Form` in `asked.rs` (its place in `ALL` is its number in the index: append only), its sound in `layout.rs` (`told_late` sounds the
//! first note of a form it does not know); in a lesson: `CUES` in `lesson/fields.rs`, which the compiler does not check; typed: `cli/args/choices.rs` (both ways), `talk/asked.rs` (told late);
//! recorded: `session/wire/words.rs`, `assets/schema/session.schema.json` (whether `FORMAT` rises: `session/read.rs`); reported: `report/text.rs`,
//! `report/review_json.rs`; its number in `coach/in_bytes.rs`, its name in `tests/program/records/recounted`; the simulated player:
//! `simulated/intent.rs`; README. The tables of `report/text.rs` stay within 80 columns. If it needs notes that no cue has: from
//! `pattern/model.rs` into a field of `Cue`, as the head of `session/mod.rs` says. `cargo test cues`.

mod asked;
mod knock;
mod layout;
mod loudness;
mod rendered;
mod rendering;
mod round;
mod sign_sounds;
mod sound_sign;

pub use asked::{Cue, Form, LONGEST_WARNING, Timing};
pub use loudness::{FIRST, FULL, Loudness};
pub use rendered::{CueSound, sound, sound_in};
pub use rendering::Rendering;
pub use round::{RoundPlace, RoundSound, round};
pub use sign_sounds::{signs, signs_in_turn};
pub use sound_sign::SoundSign;
