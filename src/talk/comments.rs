//! A teacher's comments on the player's sittings, shown once, before the next drill.

use crate::engine::SittingEnd;
use crate::files::{self, CommentedSitting, Places, UserSettings};
use crate::report;
use crate::session::{Comment, NamedPlayer};
use crate::talk::failure::Failure;
use crate::talk::output::{can_ask, part, say, warn};
use crate::words::wrap::wrapped;

/// Number of columns of a printed line.
const COLUMNS: usize = 80;

/// Comments that were told now. They count as shown only where the sitting that follows has begun: a player whose microphone does not open
/// may not have read them.
#[must_use]
pub struct Told(Vec<CommentedSitting>);

impl Told {
    /// Writes down that they were shown, unless the sitting ended for want of sound before it began.
    pub fn keep(self, places: &Places, end: Option<&SittingEnd>) {
        if self.0.is_empty() || matches!(end, Some(SittingEnd::NoSound(_))) {
            return;
        }
        if let Err(failure) = files::keep_shown(places, &self.0) {
            warn(format!("the word about what you played is told once more next time: {failure}"));
        }
    }
}

/// Tells the comments on this player's sittings that were not shown yet. A screen would cover them, so with `waits` a player at the
/// terminal presses Enter first.
pub fn tell(places: &Places, settings: &UserSettings, player: &NamedPlayer, waits: bool) -> Result<Told, Failure> {
    let mut found = files::commented(places);
    found.retain(|it| settings.owns(Some(player.id), &it.began));
    let fresh = files::not_shown(places, found);
    if fresh.is_empty() {
        return Ok(Told(fresh));
    }
    say("A word about what you played before:")?;
    for sitting in &fresh {
        for text in paragraphs(sitting) {
            say(wrapped(&text, COLUMNS, "  ", "      ").join("\n"))?;
        }
    }
    if waits && can_ask() {
        part("Press enter to begin. ");
        // The drill begins whatever is typed, even nothing.
        let _ = std::io::stdin().read_line(&mut String::new());
    }
    Ok(Told(fresh))
}

/// The comments on one sitting, with what they are about where its record can be read.
fn paragraphs(sitting: &CommentedSitting) -> Vec<String> {
    let CommentedSitting { path, comments, .. } = sitting;
    let sessions = files::read_sessions(std::slice::from_ref(path)).sessions;
    let session = sessions.first().and_then(files::Stored::session);
    let bare = |comments: &[Comment]| comments.iter().map(|comment| comment.text.clone()).collect();
    session.map_or_else(|| bare(comments), |session| report::comments_to_text(&session, comments))
}
