//! A class: one row for each player, first those who give a reason to look, and what of a lesson is done. Nobody is ranked.
//!
//! Flow: [`class_sitting`] makes the figures of one record, so that records are read one by one; [`class`] makes a row of each
//! player's sittings; [`class_to_text`], [`class_json`] and [`class_to_html`] show them.
//!
//! Figures are counted from the records in the terms of `report`; "today" is the day that is looked at, and a week ends with it.
//!
//! - **Reasons** to look: no sitting for seven days; this week half an hour without a pause of half a minute; keys with under half of
//!   their latest eight answers (at least four) whole and no answer on the last three days of their pattern; one fault that came
//!   back, as a review names it, on each of the last four days with answers. The last two are no reason where the first of these days lies
//!   two weeks back or more.
//! - **Weakest keys**: the two that lack most, of those with three answers or more in the two weeks that end with the last sitting.
//!   What a key lacks is the largest of three shares: of answers not whole, of the goal's tempo not reached by its middle pace, of
//!   its middle reflex time that lies beyond the goal; under a tenth nothing is lacking.
//! - **A lesson** is done on days with an answer, up to its date; its keys are every pattern in every key that fits. Of each of
//!   these the first answer counts (the text says of a trial alone how many of them were all right). Its charts: the phrases of
//!   trades of that lesson over each of them, up to its date.
//!
//! Invariant: a reason consists of figures, and anybody can count them again from the records; none rests on another player's.
//!
//! To change it: a reason stands in `reasons.rs`, `text.rs`, `json.rs` and the words above. `cargo test class`.

mod json;
mod lessons;
mod page;
mod reasons;
mod rows;
pub(super) mod sitting;
mod text;
mod weak;

pub use json::class_json;
pub use lessons::LessonDone;
pub use page::{class_pages, class_to_html};
pub use reasons::ClassReason;
pub use rows::{ClassRow, class};
pub use sitting::{ClassFault, ClassSitting, class_sitting};
pub use text::class_to_text;
pub use weak::{Lack, WeakKey};
