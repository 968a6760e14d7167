//! A review with what to work on above it.

use crate::report::keys_over_days::table_over_days;
use crate::report::page::{TeacherPage, pages};
use crate::report::review::{Review, review};
use crate::report::takes::Take;
use crate::report::text::to_text_under;
use crate::report::whose::together;
use crate::session::Session;

/// A review in plain text, as [`crate::report::to_text`], with at most three sentences of what to work on first. The keys day by day come
/// last, where they were measured on several days.
#[must_use]
pub fn sittings_to_text(sessions: &[Session]) -> String {
    sittings_to_text_on(sessions, None)
}

/// The review as [`sittings_to_text`]; where `today` is known, it says too how long ago the last of several sittings was.
#[must_use]
pub fn sittings_to_text_on(sessions: &[Session], today: Option<i32>) -> String {
    let plain = |sentence: &String| sentence.replace('♭', "b").replace('♯', "#");
    let pages = pages(sessions, None);
    let work_on = |page: &Option<TeacherPage>| page.iter().flat_map(|page| page.work_on.iter().map(plain)).collect();
    let first: Vec<Vec<String>> = pages.iter().map(work_on).collect();
    let mut text = to_text_under(&review(sessions), &first, today);
    for page in pages.iter().flatten() {
        let over_days = page.tables.iter().filter(|table| table.days.0 != table.days.1);
        for (n, table) in over_days.enumerate() {
            if pages.len() > 1 && n == 0 {
                text.push_str(&format!("\n{}, day by day\n", page.player));
            }
            text.push_str(&format!("\n{}", table_over_days(table, &page.instrument)));
        }
    }
    text
}

/// The answer that stands under a number in the text of a review, with the index of its sitting among those that were reviewed.
#[must_use]
pub fn numbered_take<'a>(number: usize, review: &'a Review, sessions: &[Session]) -> Option<(&'a Take, usize)> {
    let groups = together(sessions);
    let mut takes = review.parts.iter().zip(&groups).flat_map(|(part, group)| {
        part.best.iter().chain(&part.worst).map(move |take| (take, group.get(take.sitting).copied()))
    });
    let (take, session) = takes.nth(number.checked_sub(1)?)?;
    Some((take, session?))
}
