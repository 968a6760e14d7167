//! Free playing taken apart: what a good listener would say of a line that nobody asked for.
//!
//! heard notes -> [`FreeLine`] (or [`NoLine`], where they are not one line) -> [`FreeParts`], the line in parts of the three families;
//! [`FreeVocabulary`], the patterns and habits that came more often than chance gives; [`OverForm`], the line over the chords of a
//! form that is laid under it ([`PlacedForm`]).
//!
//! What chance gives is known from lines drawn at random along the scale of the line that was played, each move depending on the move
//! before it (`chance`). Shuffled notes would leave the key, and every scale run would stand out from them. A pattern that came whole, or
//! with one note changed, is named only where it is more surprising than the most surprising of all patterns in nineteen of twenty drawn
//! lines.
//!
//! What is named makes its own pieces likely: a line that has a pattern five times has the moves of its beginning as often. So where a
//! named pattern began and broke off, and what the player's habits are, is weighed against the rest of the line, in which the named
//! places are left out.
//!
//! What is drilled is also counted where it came whole, weighed against a plain line ([`came_whole`]): who plays little but a pattern
//! has used it, though the motion of that line explains it.
//!
//! Where nobody tells the tempo it is found from the onsets (`tempo`), by the note values and the tempos that lines usually have. Where
//! twice or half of it is nearly as likely, both are told.
//!
//! Nothing here is graded, right or wrong. Where two readings are nearly as good, both are kept.
//!
//! # To change it
//! Each kind of result has a file here. Results are said in `words/free/`, drawn in `words/free/picture.rs`, and written as JSON in
//! `report/free_json.rs`; what chance gives: `chance.rs`. `cargo test free`, `cargo test choruses`.

mod broken;
mod chance;
mod habits;
mod line;
mod only;
mod over_form;
mod parts;
mod placed_form;
mod plain;
mod search;
mod stock;
mod tempo;
mod vocabulary;
#[cfg(test)]
mod vocabulary_tests;
mod whole;

pub use line::{FreeLine, NoLine, TempoFrom};
pub use over_form::{Approach, FreePhrase, OverForm};
pub use parts::{FreePart, FreeParts};
pub use placed_form::{PlacedForm, ToneOver};
pub use vocabulary::{FEW, FoundPattern, FoundPlace, FreeVocabulary, Habit, LookedFor};
pub use whole::came_whole;
