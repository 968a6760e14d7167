//! A soft band under a chart: plucked bass, short chords, a brush or a click, two bars of lead-in.
//!
//! [`Chorus`](crate::chart::Chorus) -> notes of one chorus by rule (`bass`, `voicing`, `comp`, gathered in `plan`) -> samples
//! (`voice`), read in blocks of any size ([`BackingBand`]). The generator is an argument: the same chart, wish and draws give the same
//! samples, whatever the blocks. A chorus is planned when it is due, so memory does not grow with time; planning asks for
//! memory, so a band is read on a thread of its own and never in a callback.
//!
//! # Rules (common practice, as in any handbook of the walking bass and of comping)
//! - Walking: the root (or the bass after a slash) on the first beat of every chord; when a chord lasts into another bar, root,
//!   third or fifth on its first beat; a half step or a step of the chord's scale before every such note; between them chord
//!   tones and steps of the scale, never a note twice running, no leap over a fifth but the octave; E1 to E3.
//! - Root and fifth: the root, and halfway through a bar the fifth.
//! - Chords: third and seventh (a triad: third and fifth), each the nearest to where a voice was, D3 to C5; a voice that would
//!   leave this range is taken an octave back. An altered fifth is a third voice. Short, so that the player is heard.
//! - The second half of every beat swings as the cue does ([`swing_at`](crate::pattern::swing_at)).
//!
//! # To change it
//! How it plays: `bass.rs` and `comp.rs`, gathered in `plan.rs`, which says how long a chord is held (`SHORT`) and strikes
//! pick-up and end without `comp.rs`; its rules above, written anew in `rule_tests.rs`; its wish:
//! `wish.rs`, typed in `cli/args/charts.rs` (for `trade` too), worked out in `cli/charts/band.rs`; README. `cargo test rule_tests`, `cargo test band_tests`.

mod band;
#[cfg(test)]
mod band_tests;
mod bass;
mod comp;
mod plan;
#[cfg(test)]
mod rule_tests;
mod tones;
mod voice;
mod voicing;
mod wish;

pub use band::{BackingBand, LEAD_IN};
pub use wish::{BandWish, BassLine, CEILING, TEMPOS, TimeKeeping};
