//! Comments: what a teacher says of a sitting goes into its file.

use crate::files::{self, SessionEntry};
use crate::report;
use crate::session::{Comment, Session};
use crate::talk::comment_typed::{cue, plain, several};
use crate::talk::failure::{Failure, clean};
use crate::talk::output::say;
use crate::talk::record_words::review;

/// Adds what was typed to the file of the one sitting that was named.
pub fn write(typed: &[String], sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let [number, text] = typed else {
        return Err(Failure::usage(
            "--comment needs a number and a sentence",
            "--comment 1 \"Breathe before the turn.\"",
        ));
    };
    let ([session], [entry]) = (sessions, listed) else {
        return Err(several(number, sessions, listed));
    };
    let comment = Comment { written: files::today().started, cue: cue(number, session)?, text: plain(text)? };
    files::add_comment(&entry.path, &comment, &review)?;
    let words = report::comments_to_text(session, std::slice::from_ref(&comment)).join("\n");
    say(words)?;
    say(format!(
        "kept in {}; give this file back to its player, who puts it in the place of the old one or beside it",
        clean(&entry.path.display().to_string())
    ))
}
