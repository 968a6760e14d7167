//! What is asked, as data and as sound.
//!
//! A [`Cue`] is one thing asked. [`sound`] renders it: the count-in of a bar, the notes in exact equal temperament, and the
//! instants everything later counts from. The end of the cue is known to the sample: the last sample of the last note's
//! nominal length, before its release.
//!
//! # To change it: a cue form
//! Add it to `Form` in `asked.rs` (its place in `ALL` is its number in the index: append only). Its sound: `layout.rs` (`told_late`
//! sounds the first note of a form it does not know). In a lesson: `CUES` in `lesson/fields.rs`, which the compiler does not check.
//! Typed: `cli/args/choices.rs` (both ways), `talk/asked.rs` (told late, by ear). Said of a lesson: `talk/lessons.rs`. Recorded:
//! `session/wire/words.rs`, `assets/schema/session.schema.json` (whether `FORMAT` rises: `session/read.rs`). Reported: `report/text.rs`,
//! whose tables stay within 80 columns, and `report/review_json.rs`. Its number: `coach/in_bytes.rs`; its name:
//! `tests/program/records/recounted`. The simulated player: `simulated/intent.rs`. Then README. A form that needs notes no cue has takes
//! them from `pattern/model.rs` into a field of `Cue`, as the head of `session/mod.rs` says. `cargo test cues`.

mod asked;
mod joined;
mod knock;
mod layout;
mod loudness;
mod rendered;
mod rendering;
mod round;
mod second_task;
mod sign_sounds;
mod sound_sign;

pub use asked::{Cue, Form, LONGEST_WARNING, Timing};
pub use joined::{JoinedPart, joins};
pub use layout::answer_time;
pub use loudness::{FIRST, FULL, Loudness};
pub use rendered::{CueSound, sound, sound_in};
pub use rendering::Rendering;
pub use round::{RoundPlace, RoundSound, round};
pub use second_task::{SecondTask, SoftTap, TapSound};
pub use sign_sounds::{signs, signs_in_turn, signs_last};
pub use sound_sign::SoundSign;
