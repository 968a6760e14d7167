//! The index of the player's own sittings: their figures in one SQLite file, so that a record is read once and not at every question,
//! and what the coach knows after them.
//!
//! The session files stay the only truth. The index may be removed at any time and is made again from them; one that is broken,
//! foreign or of another schema is thrown away, never trusted, and so is a row that is not what its seal was made of. What lies in a
//! file is known by the size and time of its record; where these differ its SHA-256 decides whether it is read anew. It holds names,
//! so it is 0600, what is deleted in it is overwritten with zeros, and its journal is emptied.
//!
//! It holds the figures of the sittings for `log` and, by the hashes of the records it was learnt from, what the coach knew after
//! every sixteenth. It is thrown away where its schema is not the text of `schema.rs` or a row does not match its seal (SHA-256):
//! another meaning, column or rule of learning is another `SCHEMA`. A record whose size and time stand is not opened.

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
