//! Expected notes meet heard notes: alignment, scores, and what is worth saying, as data.
//!
//! Flow: heard notes in order of onset, each with its looks ([`sounded`]) -> the cheapest alignment for each likely shift of
//! the whole answer, with tuning and clock estimated from it ([`account`], [`align`], [`cost`], [`clock`]) -> labels
//! ([`judge()`]) -> figures ([`score`]). A verdict is a pure function of what was asked and what was heard; it never sees a
//! sample and holds no words. Sources: Theil 1950 and Sen 1968 (clock), from memory.

mod account;
mod align;
mod clock;
mod cost;
mod findings;
mod held;
mod judge;
mod judged;
mod ready;
mod score;
mod sounded;

pub use findings::{Finding, findings};
pub use held::held;
pub use judge::judge;
pub use judged::{Asked, Clock, NoteLabel, NoteVerdict, PlayedLabel, Reflex, Verdict};
pub use ready::ready;
