//! A class: a line a player, those first who give a reason to look, and what of a lesson is done. Nobody is ranked.
//!
//! Flow: [`class_sitting`] makes the figures of one record, so that records are read one by one; [`class`] makes a row of each
//! player's sittings; [`class_to_text`], [`class_json`] and [`class_to_html`] show them.
//!
//! Figures, counted from the records by the words of `report`: "today" is the day that is looked at, and a week ends with
//! it. Reasons: nothing for seven days; this week half an hour without a pause of half a minute; under half of a key's latest
//! eight answers (at least four) whole, and not asked on the last three days of its pattern; one fault that came back, as a
//! review names it, on each of the last four days with answers (the last two: not two weeks ago). Weakest keys: two weeks
//! before the last sitting, three answers at least, by what lacks most (at least a tenth) of whole answers, or of the middle
//! pace or reflex against the goal. A lesson is done on days with an answer, up to its date; its keys: every pattern in every
//! key that fits; of a trial the first answer counts.
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
