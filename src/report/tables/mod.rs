//! The tables of a school: the rows of a sitting, without a name, a path, a device or a sentence. (Feature `school`.)
//!
//! Flow: [`add_to_tables`] adds a sitting to three [`SchoolTable`]s; `files/tables.rs` writes them. What is counted is counted where
//! review, index and log have it counted: `report/figures.rs`, `report/judged.rs`, `report/by_key.rs`, `report/tuning.rs`.
//!
//! - `sittings`, a row each (a trade has `traded_phrases`, `traded_whole` and no answers); `answers`, a row for each sounding of a
//!   cue, silent ones and those that count nowhere among them; `notes`, a row for each asked note of an answer that was an attempt
//!   at its pattern. Units stand in the names.
//! - `counts`: the coach chose the cue, its key was not told late, and no second task stood beside it; `scored`: that, something
//!   sounded, it was an attempt, and nobody contested it. Only what is scored has `away_days` and, in `answers`, the columns from
//!   `whole` on. `turn`: the place in the sitting, from 1; `asking`: the turn at which the cue sounded first. Nothing is ever
//!   called `right`, `order` or `of`: engines have these words.
//! - Beside a second task (`task_block`, `counting`) an answer counts nowhere else: its `beside_` columns hold what shows the cost of
//!   counting, where the answer does (`report/by_second_task.rs`); `blocks_counted`: the numbers that were asked in a sitting.
//! - `drilled_sought`: how many drilled patterns were looked for in the sitting's free choruses; `drilled_came_out`: how many came.
//! - `player`, `sitting` and patterns of a player's own are pseudonyms ([`Pseudonyms`]); `lesson`: the first twelve digits of the SHA-256.
//!
//! To change it: a column is added at the end of its rows in `rows.rs` and never means something else later; then `assets/sql`.
//! `cargo test --features school tables`.

mod columns;
mod rows;

pub use columns::{ColumnValues, SchoolTable, TableColumn};
pub use rows::{Pseudonyms, add_to_tables, month_of};
