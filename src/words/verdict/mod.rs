//! What a teacher would say about one answer, and about a fault that comes back.

mod again;
#[cfg(test)]
mod again_tests;
#[cfg(test)]
mod attempts_tests;
mod beside;
mod faults;
mod headline;
mod named;
mod note_by_note;
mod places;
mod recurring;
#[cfg(test)]
mod recurring_tests;
mod rhythm;
#[cfg(test)]
mod rhythm_tests;
mod sentence;
#[cfg(test)]
mod slip_tests;
#[cfg(test)]
mod tests;
mod time;
#[cfg(test)]
mod time_tests;
mod tuning;

pub use headline::{ALL_RIGHT, headline};
pub use named::Named;
pub use note_by_note::{expected_word, note_by_note, of_a_cut_recording, played_word};
pub use places::came_as;
pub use recurring::{Recurring, recurring};
pub use rhythm::in_time;
pub use sentence::sentence;
pub use time::{slower, time};
pub use tuning::names_out_of_tune;
