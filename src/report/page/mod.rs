//! The teacher's page: one HTML file that needs nothing beside it, no script and no network.
//!
//! Flow: [`gather`] makes figures, names and sentences of the sittings, [`ChosenTake`]s among them; a caller that has the sound puts it
//! in, and the [`ChorusPicture`]s of free choruses; [`to_html`] draws. [`choruses_to_html`] is the page of such pictures alone. How the page looks is decided in this folder and nowhere else: a mark differs in shape as well as in colour, a
//! length that shrinks with the page is in per cent of its cell, and nothing is coloured as good or bad.
//!
//! Invariant: every text that comes from a record is escaped by the template; the page's own policy forbids it to load anything.
//!
//! To change it: a fact, or a sentence above the pictures, is made in `head.rs`; any other element has a field in `page_data.rs`, filled
//! in `gathered.rs`, drawn by a file beside them that `frame.rs` places, styled in `assets/page.css`; `report/class/page.rs` draws the
//! same pages. Seven days against seven: `report/weeks.rs`; a series of weeks: `report/log.rs`; figures that the text shows too:
//! `report/review.rs`. What is counted is defined at the head of `report/mod.rs` and counted anew in `tests/program/records/recounted`;
//! see `tests/program/records/lesson_page.rs`.

mod axis;
mod chorus;
mod chorus_data;
mod chosen;
mod frame;
mod gathered;
mod head;
mod keys;
mod page_data;
mod staff;
mod takes;
mod tuned;

pub use chorus_data::ChorusPicture;
pub use chosen::ChosenTake;
pub(super) use frame::framed;
pub use frame::{choruses_to_html, to_html};
pub use gathered::gather;
pub(super) use gathered::pages;
pub(super) use page_data::{KeyLine, KeyMeasure, KeyTable, TeacherPage};
