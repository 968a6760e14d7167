//! A line that was played once, made into a pattern.
//!
//! heard notes -> [`played`] (whole half steps, the player's tuning taken out) -> [`without_ornaments`] (where the notes are
//! in no plain note values) -> [`quantize`] (units of a pulse, and how far the
//! furthest note lay from its place) -> a [`Line`](crate::pattern::Line) -> [`infer_root`] (from the library, or by what the line
//! itself says, or not at all) -> [`motion`] (the family), [`chord`] and [`level`] -> a pattern by
//! [`from_line`](crate::pattern::from_line).
//!
//! Whatever is decided for the player is shown with its reason, and what cannot be known is asked for. The player can correct all of
//! it: a [`Correction`] changes a note, and root, pulse and family are fields of the [`LineDraft`].
//!
//! # To change it
//! What is read off the notes: the file of the step in the flow above. What the player may correct: `correction.rs`, typed in
//! `talk/learn_typed.rs`, said in `words/learnt.rs`. `cargo test learning`.

mod chord;
mod correction;
mod difficulty;
mod infer_root;
mod line_draft;
mod line_note;
mod line_ornaments;
mod melodic_motion;
mod quantize;
#[cfg(test)]
mod quantize_tests;
mod releases;
mod unit_grid;

pub use chord::{chord, tone};
pub use correction::{Correction, CorrectionError};
pub use difficulty::level;
pub use infer_root::{InferredRoot, RootReason, infer_root, tonic};
pub use line_draft::{LearnError, LearnedPattern, LineDraft, about, find_root, id};
pub use line_note::{LineNote, played};
pub use line_ornaments::{LineOrnament, LineOrnamentKind, begins_anew, without_ornaments};
pub use melodic_motion::{MelodicMotion, motion};
pub use quantize::{Pulse, PulseBy, QuantizedLine, quantize, quantize_unswung};
pub use releases::releases_on_grid;
