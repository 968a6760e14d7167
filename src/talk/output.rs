//! What leaves the program on standard output and standard error, apart from screens, `json_lines.rs` and the questions of
//! `first_run.rs`. The print macros panic where the stream is full or gone, and a panic takes the sitting along. So they are
//! forbidden (`src/lib.rs`), and these functions stand in their place.
//!
//! A reader that went away (`| head`) is no reason to stop, for it has read enough; nor is a standard error that takes nothing, for
//! the message has nowhere to go. A standard output that takes nothing for another reason, such as a full disk, is a failure.

use std::fmt::Display;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::sync::Mutex;

use crate::talk::failure::{Failure, clean};
use crate::tui;
use crate::words::wrap;

/// Most warnings that are kept for machines.
const MOST_KEPT: usize = 100;

/// Prints a line; a reader that went away (`| head`) is no error.
///
/// # Errors
/// When standard output takes nothing, such as on a full disk.
pub fn say(line: impl Display) -> Result<(), Failure> {
    reaches(line).map(drop)
}

/// Prints a line, and tells whether the output still has a reader.
///
/// # Errors
/// As [`say`].
pub fn reaches(line: impl Display) -> Result<bool, Failure> {
    put(&format!("{}\n", clean(&line.to_string())))
}

/// Prints text without ending the line: a question, or, after `\r`, a line that is written anew. It is only for a terminal, so an error
/// is passed over.
pub fn part(text: impl Display) {
    let text = text.to_string();
    let begin = if text.starts_with('\r') { "\r" } else { "" };
    let _ = put(&format!("{begin}{}", clean(text.trim_start_matches('\r'))));
}

/// Prints bytes as they are.
///
/// # Errors
/// As [`say`].
pub fn bytes(bytes: &[u8]) -> Result<(), Failure> {
    there(io::stdout().write_all(bytes).and_then(|()| io::stdout().flush())).map(drop)
}

/// Whether a player sits at the terminal who can be asked: input and output are terminals.
#[must_use]
pub fn can_ask() -> bool {
    io::stdin().is_terminal() && io::stdout().is_terminal()
}

/// The warnings so far, for machines that read standard output alone.
static WARNED: Mutex<Vec<String>> = Mutex::new(Vec::new());

/// Prints a warning on standard error, under the program's name; on a terminal it is broken at blanks, for a terminal breaks words.
pub fn warn(text: impl Display) {
    let text = clean(&text.to_string());
    let told = format!("earfirst: {text}");
    let told = tui::error_columns().map_or(told.clone(), |columns| wrap::message(&told, columns));
    let _ = writeln!(io::stderr(), "{told}");
    if let Ok(mut warned) = WARNED.lock()
        && warned.len() < MOST_KEPT
    {
        warned.push(text);
    }
}

/// The warnings of this command so far, at most a hundred.
#[must_use]
pub fn warned() -> Vec<String> {
    WARNED.lock().map_or_else(|_| Vec::new(), |warned| warned.clone())
}

/// What is to be said once no screen stands any more.
static LATER: Mutex<Vec<&'static str>> = Mutex::new(Vec::new());

/// Keeps a sentence until no screen stands any more.
pub fn later(sentence: &'static str) {
    if let Ok(mut later) = LATER.lock() {
        later.push(sentence);
    }
}

/// Prints the sentences that were kept by [`later`], each once.
///
/// # Errors
/// As [`say`].
pub fn say_later() -> Result<(), Failure> {
    let mut kept = LATER.lock().map_or_else(|_| Vec::new(), |mut later| std::mem::take(&mut *later));
    kept.dedup();
    kept.into_iter().try_for_each(say)
}

/// What the reader of arguments says of a number that it cannot read, and the same for somebody who plays.
const PLAIN: [(&str, &str); 3] = [
    ("invalid float literal", "a number is meant, such as 96 or 7.5"),
    ("invalid digit found in string", "a whole number is meant, such as 4"),
    ("to pass '--simulated' as a value, use '-- --simulated'", "earfirst demo is the drill with a simulated player"),
];

/// A message of the reader of arguments, in words that somebody who plays understands.
#[must_use]
pub fn in_plain_words(said: &str) -> String {
    PLAIN.iter().fold(said.to_owned(), |said, (of, plain)| said.replace(of, plain))
}

/// Prints text on standard error as it is: a question, or a whole message.
pub fn ask(text: impl Display) {
    let _ = write!(io::stderr(), "{}", clean(&text.to_string()));
}

fn put(text: &str) -> Result<bool, Failure> {
    let mut out = io::stdout().lock();
    there(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
}

/// Whether the output still has a reader.
fn there(put: io::Result<()>) -> Result<bool, Failure> {
    match put {
        Ok(()) => Ok(true),
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(false),
        Err(error) => Err(Failure::input("standard output", error, "Write to another place.")),
    }
}
