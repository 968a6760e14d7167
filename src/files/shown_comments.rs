//! Which comments on their sittings the players were shown: each is shown once, however many copies of its sitting there are.

use std::collections::BTreeSet;

use crate::files::index::CommentedSitting;
use crate::files::places::{read_text, write_private};
use crate::files::{FileError, Places, sha256_hex};
use crate::session::{Began, Comment, Event, write_line};

/// Most bytes of the list of shown comments: about sixteen thousand comments. A longer list counts as empty.
const LIMIT: u64 = 1 << 20;

/// The mark by which a comment is known; it names nobody.
fn mark(began: &Began, comment: &Comment) -> String {
    let id = began.player.as_ref().map(|player| player.id.to_string()).unwrap_or_default();
    let line = write_line(&Event::Commented(comment.clone()));
    sha256_hex(format!("{}\n{id}\n{line}", began.started).as_bytes())
}

fn marks(places: &Places) -> Vec<String> {
    let text = read_text(&places.shown_comments(), "read what was told in", LIMIT).unwrap_or_default();
    text.lines().map(str::to_owned).collect()
}

/// The sittings that have comments not shown yet, with only these comments, each once.
#[must_use]
pub fn not_shown(places: &Places, found: Vec<CommentedSitting>) -> Vec<CommentedSitting> {
    let mut known: BTreeSet<String> = marks(places).into_iter().collect();
    let mut fresh = Vec::new();
    for mut sitting in found {
        let CommentedSitting { began, comments, .. } = &mut sitting;
        comments.retain(|comment| known.insert(mark(began, comment)));
        if !sitting.comments.is_empty() {
            fresh.push(sitting);
        }
    }
    fresh
}

/// Writes down that these comments were shown.
///
/// # Errors
/// When the list cannot be written; these comments are shown once more then.
pub fn keep_shown(places: &Places, shown: &[CommentedSitting]) -> Result<(), FileError> {
    let new = shown.iter().flat_map(|it| it.comments.iter().map(|comment| mark(&it.began, comment)));
    let all: String = marks(places).into_iter().chain(new).map(|mark| mark + "\n").collect();
    write_private(&places.shown_comments(), all.as_bytes())
}
