//! Comments that were added to sittings afterwards, by a teacher for instance.

use crate::music::{ConcertKey, Mode};
use crate::report::date::date;
use crate::report::part_page::page;
use crate::session::{Comment, Session};
use crate::words::Page;

/// One comment, and what it is about.
#[derive(Debug, Clone, PartialEq)]
pub struct CommentRow {
    /// Calendar day of its sitting, days since 1970-01-01.
    pub day: i32,
    /// Instant at which it was written, RFC 3339.
    pub written: String,
    /// The answer that is meant: its cue, the plain name of its pattern, its key and mode; `None` where the whole sitting is meant, or a
    /// cue that no drill of the sitting asked.
    pub about: Option<(u32, String, ConcertKey, Mode)>,
    /// The comment itself.
    pub text: String,
}

/// All comments on these sittings, in their order.
pub(super) fn comment_rows<'a>(sessions: impl IntoIterator<Item = &'a Session>) -> Vec<CommentRow> {
    let of = |session: &'a Session| session.comments.iter().map(move |comment| row(session, comment));
    sessions.into_iter().flat_map(of).collect()
}

fn row(session: &Session, comment: &Comment) -> CommentRow {
    let trial = comment.cue.and_then(|cue| session.trials.iter().find(|trial| trial.cue.number == cue));
    let about = trial.map(|trial| (trial.cue.number, trial.cue.title.clone(), trial.cue.key, trial.cue.spelling.mode));
    CommentRow { day: session.began.day, written: comment.written.clone(), about, text: comment.text.clone() }
}

/// A comment with what it is about: "29 November 2026, Eb, five-note row up and down: ...".
pub(super) fn comment_words(row: &CommentRow, page: &Page) -> String {
    format!("{}: {}", comment_head(row, page), row.text)
}

/// What a comment is about: "29 November 2026, Eb, five-note row up and down".
pub(super) fn comment_head(row: &CommentRow, page: &Page) -> String {
    let about = row.about.as_ref();
    let about = about.map_or_else(String::new, |(_, title, key, mode)| format!(", {}, {title}", page.key(*key, *mode)));
    format!("{}{about}", date(row.day))
}

/// Some comments on one sitting as its player reads them.
#[must_use]
pub fn comments_to_text(session: &Session, comments: &[Comment]) -> Vec<String> {
    let Some((page, _)) = page(&session.began.instrument, session.began.reading) else { return Vec::new() };
    comments.iter().map(|comment| comment_words(&row(session, comment), &page)).collect()
}
