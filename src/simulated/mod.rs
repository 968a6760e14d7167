//! A player who does not exist, and answers a cue in real audio, with a set skill, human faults, and the truth beside it.
//!
//! The way of one answer: [`SimulatedPlayer`] draws what goes wrong and how ready it is, a performance is written down note by note
//! (`intent`, `faults`), and the performance is sounded (`voice`) in the timbre of an instrument. What was truly played is
//! handed on as [`Truth`], in words of its own: nothing here knows the ear or the judge, so it cannot flatter them.
//!
//! Values are those of a developing player: reflexes of half a second to two seconds, single notes 6 cents off or so, onsets
//! 10 to 25 ms off the beat (facts of the trade; vibrato after Seashore 1938 and Sundberg 1987).
//!
//! # To change it
//! A fault is a `PlayingFault` in `truth.rs`, played in `faults.rs` and drawn in `player.rs`; what the judge must say of it:
//! `tests/program/agreement.rs`. A timbre: `timbre.rs`. How the player learns: `skill.rs`. `cargo test simulated`,
//! `cargo test agreement`.

mod chance;
mod counting;
mod faults;
mod hurried;
mod intent;
mod player;
mod skill;
mod timbre;
mod truth;
mod voice;

pub use player::{AnswerClock, Profile, SimulatedPlayer, SoundedAnswer};
pub use skill::Skill;
pub use timbre::Timbre;
pub use truth::{PlayedAs, PlayingFault, Truth};
