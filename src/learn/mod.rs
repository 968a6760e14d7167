//! A line that was played once, made into a pattern.
//!
//! heard notes -> [`played`] (whole half steps, the player's tuning taken out) -> [`rhythm`] (units of a pulse, with the
//! largest move) -> a [`Line`](crate::pattern::Line) -> [`root`] (from the library, or by what the line itself says, or not
//! at all) -> [`motion`] (the family), [`chord`] and [`level`] -> a pattern by [`from_line`](crate::pattern::from_line).
//!
//! Nothing is decided for the player without its reason; what cannot be told is asked. Whoever knows better says so:
//! a [`Mend`] changes a note, and root, pulse and family are fields of the [`Draft`].

mod chord;
mod draft;
mod level;
mod mend;
mod motion;
mod played;
mod rhythm;
#[cfg(test)]
mod rhythm_tests;
mod root;

pub use chord::{chord, tone};
pub use draft::{Draft, Learnt, Unlearnt, about, find_root, id};
pub use level::level;
pub use mend::{Mend, NoMend};
pub use motion::{Motion, motion};
pub use played::{Played, played};
pub use rhythm::{ALLOWED, Pulse, Rhythm, rhythm, straight};
pub use root::{Root, Why, root, tonic};
