//! A comment as it was typed: what it is about, and its text.

use crate::files::SessionEntry;
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

/// What is said where several sittings were named: which file is meant, and the number of the answer in that file's own review.
pub fn several(number: &str, sessions: &[Session], listed: &[&SessionEntry]) -> Failure {
    let what = format!("a comment goes into one sitting, and {} were named", sessions.len());
    let found = number.parse().ok().and_then(|number| {
        let review = report::review(sessions);
        let (take, sitting) = numbered_take(number, &review, sessions)?;
        let alone = std::slice::from_ref(sessions.get(sitting)?);
        let own = report::review(alone);
        let mut takes = (1..).map_while(|number| Some((number, numbered_take(number, &own, alone)?.0)));
        let (own, _) = takes.find(|(_, other)| other.cue == take.cue)?;
        Some((own, listed.get(sitting)?.path.display().to_string()))
    });
    match found {
        Some((own, file)) => Failure::usage(
            what,
            format!(
                "Number {number} of this review is number {own} of {0}: earfirst review {0} --comment {own} \"...\"",
                clean(&file)
            ),
        ),
        None => Failure::usage(what, "Name one sitting's file; its own review has the numbers."),
    }
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
