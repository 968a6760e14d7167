//! What is known of each key in each pattern, and what is asked next, at what tempo, and why; as data.
//!
//! A choice is made ([`LearnerModel::choose`]) and entered ([`LearnerModel::asked`]), the answer is judged elsewhere and entered too
//! ([`LearnerModel::learn`]). The model is a pure function of what was entered, in order: replaying a session gives it bit for bit.
//!
//! Turns go by credit: every key earns by its need and pays when it is asked, so weak keys come more often, evenly spread, and no
//! key waits for long. The tempo of each key is a staircase of its own. There are no points and no streaks: a day of rest costs
//! nothing.
//!
//! Sources, from memory: Waldspurger & Weihl 1995 (stride scheduling), Kaernbach 1991 (weighted up-down staircase).
//!
//! # To change it
//! A reason to ask a key is a `Reason` in `choice.rs`; its place in the order is in `choosing.rs`, its words are in
//! `words/reason.rs`, its wire is in `session/wire/cued.rs` and the schema. How weak a key is: `need.rs`; how tempo moves:
//! `ladder.rs`; what time takes: `forgetting.rs`. Whatever changes what an old record teaches raises `SCHEMA` of the index.
//! `cargo test coaching`.

mod block_order;
mod came_out;
mod choice;
mod choosing;
mod day;
mod day_plan;
mod divided;
mod forecast;
mod forgetting;
mod held_out;
mod in_bytes;
mod in_use;
mod key_stats;
mod ladder;
mod learner_model;
mod need;
mod out_of_range;
mod returning;
mod rng;
mod round_order;
mod sitting_plan;
mod spared_turn;
mod told_apart;
mod warned;
mod warning_order;

pub use block_order::{BlockOrder, TaskBlock};
pub use came_out::{CameOut, PlayedFreely};
pub use choice::{AnswerEvidence, ApartStage, Choice, Goals, HeldOut, Plan, Reason, SittingPhase};
pub use day::Holds;
pub use day_plan::{DayPart, DayPlan, DayWish};
pub use divided::{CostBetween, Divided, DividedAnswer, PairedSums, TapCounts, TaskCost};
pub use forgetting::TimeAway;
pub use in_use::{Broke, InUse, UsedPattern, UsedTries};
pub use key_stats::LATELY;
pub use ladder::{Rule, SLOWEST};
pub use learner_model::LearnerModel;
pub use out_of_range::{Misfit, OutOfRange};
pub use rng::Rng;
pub use round_order::RoundOrder;
pub use sitting_plan::{Rest, SittingPlan, Spared};
pub use spared_turn::{SparedTurn, SparedTurns};
pub use told_apart::{CHANCE, fewer_right};
pub use warned::{ShortestWarning, Warned, WarnedShare};
pub use warning_order::WarningOrder;
