//! The index of the player's own sittings: their figures in one SQLite file, so that a record is read once and not at every question,
//! and what the coach knows after them.
//!
//! The session files stay the only truth: the index may be removed at any time and is made again from them. An index is thrown away
//! as a whole where its schema is not the text of `schema.rs`, where SQLite finds it damaged, or where a sitting or its answers do
//! not match their seal (SHA-256). A learner model that does not match its seal is deleted alone. Whoever changes a column, what a
//! column means or a rule of learning raises `SCHEMA`.
//!
//! A file whose size and time of change are as before is not opened. Where they differ, the SHA-256 of its record decides whether
//! its figures are counted anew.
//!
//! The index holds the figures of the sittings for `log`, and what the coach knew, kept anew after every sixteen sittings and found
//! by the hashes of the records it was learnt from. It holds names, so only the player may read it (mode 0600), what is deleted in
//! it is overwritten with zeros, and its journal is emptied.

mod commented;
mod counted;
mod forgetting;
mod in_time;
mod learners;
mod learnt;
mod refreshing;
mod rows;
mod schema;
mod seal;
mod stamp;

pub use commented::{CommentedSitting, commented};
pub use counted::indexed;
pub use forgetting::forget;
pub use learnt::learnt;
pub use rows::IndexedSitting;
pub use schema::SCHEMA;
