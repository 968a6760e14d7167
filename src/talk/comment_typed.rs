//! A comment as it was typed: what it is about, and its text.

use crate::report::{self, numbered_take};
use crate::session::Session;
use crate::talk::failure::{Failure, clean};

/// Largest number of letters in one comment.
const LETTERS: usize = 2000;

/// The cue whose answer stands under the number; `None` for the whole sitting.
pub fn cue(number: &str, session: &Session) -> Result<Option<u32>, Failure> {
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
pub fn plain(text: &str) -> Result<String, Failure> {
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
