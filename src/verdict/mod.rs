//! Expected notes meet heard notes: alignment, scores, and what is worth saying, as data.
//!
//! A verdict is a pure function of what was asked and what was heard; it never sees a sample and holds no words.

mod judged;

pub use judged::{Asked, Clock, NoteLabel, NoteVerdict, PlayedLabel, Reflex, Verdict};
