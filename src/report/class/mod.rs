//! A class: one row for each player, first those who give a reason to look, and what of a lesson is done. Nobody is ranked.
//!
//! Flow: [`class_sitting`] makes the figures of one record, so that records are read one by one; [`class`] makes a row of each
//! player's sittings; [`class_to_text`], [`class_json`] and [`class_to_html`] show them.
//!
//! Figures are counted from the records in the terms of `report`; "today" is the day that is looked at, and a week ends with it.
//!
//! - **Lately**, of a key: the latest three days on which it was answered. Its **best** is the quickest tempo that an answer in tempo
//!   held then, where it went up: not where a day begins.
//! - **Reasons** to look: no sitting for seven days; this week half an hour without a pause of half a minute; weak keys without an
//!   answer on the last three days of their pattern; one fault that came back, as a review names it, on each of the last four days
//!   with answers. The last two are no reason where the first of these days lies two weeks back or more. A key is weak so where
//!   under half of its latest eight answers (at least four) in the pattern were whole, or where the middle best of the keys that
//!   were answered since is 1.25 times its own best in the pattern, or more.
//! - **Weakest keys**: the two that lack most, of those with three answers or more lately. What a key lacks is the largest of three
//!   shares, lately: of answers not whole, of the goal's tempo beyond its best, of its middle reflex time that lies beyond the
//!   goal; under a tenth nothing is lacking.
//! - **A lesson** is done on days with an answer, up to its date; its keys are every pattern in every key that fits. Of each of
//!   these the first answer counts (the text says of a trial alone how many of them were all right). Its charts: the phrases of
//!   trades of that lesson over each of them, up to its date.
//!
//! Invariant: a reason consists of figures, and anybody can count them again from the records; none rests on another player's.
//!
//! To change it: a reason stands in `reasons.rs` (keys left behind: `left.rs`), `reason_text.rs`, `json.rs`, the words above, README, and
//! for a school in `assets/sql/questions.sql` and `tests/program/records/school/compare.py`. `cargo test class`.

mod json;
mod left;
mod lessons;
mod page;
mod reason_text;
mod reasons;
mod rows;
pub(super) mod sitting;
mod text;
mod weak;

pub use json::class_json;
pub use left::LeftKey;
pub use lessons::LessonDone;
pub use page::{class_pages, class_to_html};
pub use reasons::ClassReason;
pub use rows::{ClassRow, class};
pub use sitting::{ClassFault, ClassSitting, class_sitting};
pub use text::class_to_text;
pub use weak::{Lack, WeakKey};
