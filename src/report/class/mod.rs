//! A class: a line a player, those first who give a reason to look, and what of a lesson is done. Nobody is ranked.
//!
//! Flow: [`class_sitting`] makes the figures of one record, so that records are read one by one; [`class`] makes a row of each
//! player's sittings; [`class_to_text`], [`class_json`] and [`class_to_html`] show them.
//!
//! Invariant: a reason holds figures, and anybody can count them again from the records; none rests on another player's.

mod json;
mod lessons;
mod page;
mod reasons;
mod rows;
mod sitting;
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
