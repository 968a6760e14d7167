//! A review with what to work on above it.

use crate::report::page::{TeacherPage, pages};
use crate::report::review::{Review, review};
use crate::report::takes::Take;
use crate::report::text::to_text_under;
use crate::report::whose::together;
use crate::session::Session;

/// A review in plain text, as [`crate::report::to_text`], with at most three sentences of what to work on first.
#[must_use]
pub fn sittings_to_text(sessions: &[Session]) -> String {
    let plain = |sentence: String| sentence.replace('♭', "b").replace('♯', "#");
    let work_on =
        |page: Option<TeacherPage>| page.map_or_else(Vec::new, |page| page.work_on.into_iter().map(plain).collect());
    let first: Vec<Vec<String>> = pages(sessions).into_iter().map(work_on).collect();
    to_text_under(&review(sessions), &first)
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
