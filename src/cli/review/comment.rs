//! A word back: what a teacher says of a sitting goes into its file.

use crate::files::{self, SessionEntry};
use crate::report::{self, numbered_take};
use crate::session::{Comment, Session};
use crate::talk::failure::{Failure, clean};
use crate::talk::output::say;
use crate::talk::record_words::review;

/// Letters of one comment.
const LETTERS: usize = 2000;

/// Adds what was typed to the file of the one sitting that was named.
pub fn write(typed: &[String], sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let [number, text] = typed else {
        return Err(Failure::usage(
            "--comment needs a number and a sentence",
            "--comment 1 \"Breathe before the turn.\"",
        ));
    };
    let ([session], [entry]) = (sessions, listed) else {
        let what = format!("a comment goes into one sitting, and {} were named", sessions.len());
        return Err(Failure::usage(what, "Name one sitting's file."));
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

/// The cue whose answer stands under the number; none for the whole sitting.
fn cue(number: &str, session: &Session) -> Result<Option<u32>, Failure> {
    let mend = "The numbers stand before the answers in earfirst review FILE; 0 is the whole sitting.";
    let Ok(number) = number.parse::<usize>() else {
        return Err(Failure::usage(format!("\"{}\" is no number of an answer", clean(number)), mend));
    };
    if number == 0 {
        return Ok(None);
    }
    let sessions = std::slice::from_ref(session);
    let found = numbered_take(number, &report::review(sessions), sessions).map(|(take, _)| Some(take.cue));
    found.ok_or_else(|| Failure::usage(format!("no answer of this review has the number {number}"), mend))
}

/// The text in one line, without signs that steer a terminal.
fn plain(text: &str) -> Result<String, Failure> {
    let spaced: String = text.chars().map(|sign| if sign.is_control() { ' ' } else { sign }).collect();
    let text = spaced.split_whitespace().collect::<Vec<_>>().join(" ");
    match text.chars().count() {
        0 => Err(Failure::usage("the comment is empty", "Write a sentence in quotes.")),
        long if long > LETTERS => {
            Err(Failure::usage(format!("the comment has {long} letters, more than {LETTERS}"), "Make two of it."))
        }
        _ => Ok(text),
    }
}
