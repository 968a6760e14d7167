//! Expected notes meet heard notes: alignment, scores, and what is worth saying, as data.
//!
//! Flow: heard notes in order of onset, each with what the alignment must know of it ([`performed`]) -> the cheapest alignment by pitch for
//! each likely shift of the whole answer, one column for each note ([`by_pitch`], [`align`], [`cost`]) -> with tuning and clock estimated
//! from it ([`hypothesis`], [`clock`]) -> trills and the like taken together ([`ornament`]) -> labels ([`judge`](mod@judge)), once more without the notes before which the player went back
//! ([`taken_up`]) -> figures ([`score`], [`hesitation`]). A [`Judge`] keeps the
//! columns from note to note; still a verdict is a pure function of what was asked and what was heard. It never sees a sample and holds no
//! words. Sources, from memory: Needleman and Wunsch 1970, Gotoh 1982 (alignment); Theil 1950, Sen 1968 (clock).
//!
//! # To change it: a finding
//! Where [`Verdict`] has no figure for it, a field of it comes first, as the head of `session/mod.rs` says. Then come `Finding`,
//! its bound, `gravity` and `is_fault` in `findings.rs`; what it does to the tempo, in `step.rs`; its words in
//! `words/verdict/faults.rs` or `words/verdict/sentence.rs`, and its short words in `words/verdict/headline.rs`; if it is about
//! time, `in_time.rs`; and the table of DEVELOPERS.md. A player with the fault is made in `simulated/truth.rs` (`PlayingFault`),
//! `simulated/player.rs` (its weight) and `simulated/faults.rs`, and asked about in `tests/planted/cases.rs` and
//! `tests/planted/told.rs`; ways of playing that are no faults are in `tests/planted/manner.rs`. What rests on a note's end begins
//! in `judged.rs` and `score.rs`; `ready.rs` and `at_once` in `judge.rs` show a verdict while the last note still sounds.
//! `cargo test agreement`, `cargo test --test planted`.

mod align;
mod attempts;
mod broke_off;
mod by_pitch;
mod clock;
mod cost;
mod findings;
mod hesitation;
mod hypothesis;
mod in_time;
mod judge;
mod judged;
mod ornament;
mod own_swing;
mod pace_moved;
mod performed;
mod pulse;
mod ready;
mod recurring;
mod rhythm;
mod score;
mod seams;
mod slip;
mod step;
mod taken_up;
mod tempo_held;
mod usual;
mod varied;

pub use broke_off::broke_off;
pub use findings::{Finding, findings, gravest_faults, has_fault, is_slower, right_in_time};
pub use in_time::{NoteInTime, OutOfTime, in_time, out_of_time};
pub use judge::{Judge, judge};
pub use judged::{
    Astray, Expectation, Hesitation, NoteLabel, NoteVerdict, PlayedLabel, Reflex, RhythmNote, TakenUp, TimeOrigin,
    Untimed, UsualTuning, Verdict,
};
pub use own_swing::swing_turned;
pub use pace_moved::{PaceMove, PaceTurn, late_at_both_ends, pace_moved};
pub use ready::ready;
pub use recurring::{FaultTally, RecurringFault};
pub use seams::{SeamVerdict, seams};
pub use slip::{Slip, slip};
pub use step::{TempoStep, in_doubt, step};
pub use taken_up::stopped;
pub use tempo_held::kept_tempo;
pub use usual::Tuned;
pub use varied::VariedAs;
