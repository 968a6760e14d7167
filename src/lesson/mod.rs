//! A lesson: what a teacher sets for the days to come, as a small text that the player's program opens.
//!
//! Flow: [`read`] makes a [`Lesson`] of a text, or all that is wrong in it, each with its line; [`print`] writes the one canonical
//! text, by whose SHA-256 a lesson is known: blanks, comments and the order of fields do not change that sum, anything else that is
//! asked does.
//!
//! Grammar: TOML 1.0. The fields of the lesson stand first (`FIELDS` in `fields.rs`), then, as in a pattern file, one `[[pattern]]` for
//! each pattern that the player may not have.
//!
//! Invariant: what was printed reads as the same lesson.
//!
//! # To change it
//! A field begins in `model.rs`, `fields.rs`, `read.rs` and `print.rs` (which leaves out a usual value, so that old lessons keep
//! their SHA-256). It is typed in `cli/args/lesson.rs`; what a drill makes of it is in `cli/practice/lesson.rs`. A field that old
//! programs must not pass over raises `VERSION`. `cargo test lessons`.

mod fields;
mod model;
mod print;
mod read;

pub use model::{Lesson, LessonTrouble};
pub use print::print;
pub use read::read;
