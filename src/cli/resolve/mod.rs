//! What the typed arguments mean: who plays, which patterns, what a sitting may ask.

mod library;
mod plan;
mod player;

pub use library::{cue, library, pattern};
pub use plan::{GOALS, Meant};
