//! What a teacher said of the player's sittings is shown before the next drill, once.

use crate::files::{self, CommentedSitting, Places, UserSettings};
use crate::report;
use crate::session::{Comment, NamedPlayer};
use crate::talk::failure::Failure;
use crate::talk::output::{can_ask, part, say, warn};
use crate::words::wrap::wrapped;

/// Columns of what is said.
const COLUMNS: usize = 80;

/// Tells what was said of this player's sittings since the last drill. A screen would cover it, so `waits` asks for a key first.
pub fn tell(places: &Places, settings: &UserSettings, player: &NamedPlayer, waits: bool) -> Result<(), Failure> {
    let mut found = files::commented(places);
    found.retain(|it| settings.owns(Some(player.id), &it.began));
    let fresh = files::not_shown(places, found);
    if fresh.is_empty() {
        return Ok(());
    }
    say("A word about what you played before:")?;
    for sitting in &fresh {
        for text in paragraphs(sitting) {
            say(wrapped(&text, COLUMNS, "  ", "      ").join("\n"))?;
        }
    }
    if let Err(failure) = files::keep_shown(places, &fresh) {
        warn(format!("so this is told once more next time: {failure}"));
    }
    if waits && can_ask() {
        part("Press enter to begin. ");
        // Whatever is typed, or nothing: the drill begins.
        let _ = std::io::stdin().read_line(&mut String::new());
    }
    Ok(())
}

/// The comments on one sitting, with what they are about where its record can be read.
fn paragraphs(sitting: &CommentedSitting) -> Vec<String> {
    let CommentedSitting { path, comments, .. } = sitting;
    let sessions = files::read_sessions(std::slice::from_ref(path)).sessions;
    let session = sessions.first().and_then(files::Stored::session);
    let bare = |comments: &[Comment]| comments.iter().map(|comment| comment.text.clone()).collect();
    session.map_or_else(|| bare(comments), |session| report::comments_to_text(&session, comments))
}
