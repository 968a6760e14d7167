use std::fmt::{Display, Formatter};
use std::process::ExitCode;

use crate::words::SoundFault;
use crate::words::numbers::capital;

/// Why a command stopped, as an exit code: 0 done, 1 only for `grade` (the answer has a fault), 2 usage, 3 device, 4 bad input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The answer has a fault (`grade`).
    Short,
    /// Something typed does not make sense.
    Usage,
    /// A device, the terminal or a thread of the program failed.
    Device,
    /// A file or stream is not what it should be, or cannot be read or written.
    Input,
}

/// What went wrong, where, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// The kind of failure, which decides the exit code.
    pub kind: Kind,
    /// What went wrong.
    pub what: String,
    /// Where it went wrong, such as a file and a line in it; `None` where there is no such place.
    pub place: Option<String>,
    /// How to mend it.
    pub mend: String,
}

impl Failure {
    /// The failure of something typed that does not make sense.
    pub fn usage(what: impl Display, mend: impl Display) -> Self {
        Self { kind: Kind::Usage, what: what.to_string(), place: None, mend: mend.to_string() }
    }
    /// The failure of a file or stream that is not what it should be, or cannot be read or written.
    pub fn input(place: impl Display, what: impl Display, mend: impl Display) -> Self {
        Self { kind: Kind::Input, what: what.to_string(), place: Some(place.to_string()), mend: mend.to_string() }
    }
    /// The failure of a device, of the terminal or of a thread of the program.
    pub fn device(what: impl Display, mend: impl Display) -> Self {
        Self { kind: Kind::Device, what: what.to_string(), place: None, mend: mend.to_string() }
    }
    /// The exit code.
    #[must_use]
    pub fn code(&self) -> ExitCode {
        ExitCode::from(match self.kind {
            Kind::Short => 1,
            Kind::Usage => 2,
            Kind::Device => 3,
            Kind::Input => 4,
        })
    }
}

impl Display for Failure {
    fn fmt(&self, to: &mut Formatter<'_>) -> std::fmt::Result {
        if let Some(place) = &self.place {
            write!(to, "{}: ", clean(place))?;
        }
        write!(to, "{}", clean(&self.what))?;
        if !self.mend.is_empty() {
            write!(to, "\n  {}", clean(&self.mend))?;
        }
        Ok(())
    }
}

/// Text made harmless for a terminal: a file, or its name, may contain signs that colour, clear or close a terminal, or turn the writing
/// around.
pub fn clean(text: &str) -> String {
    let steers = |c: char| {
        let turns = matches!(c, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        turns || (c.is_control() && c != '\n' && c != '\t')
    };
    let harmless = |c: char| if steers(c) { '\u{fffd}' } else { c };
    text.chars().map(harmless).collect()
}

impl std::error::Error for Failure {}

/// What stops the sound, and what to do, in the drill's words.
impl From<SoundFault> for Failure {
    fn from(fault: SoundFault) -> Self {
        Self::device(fault.what(), fault.mend())
    }
}

impl From<crate::files::FileError> for Failure {
    fn from(failure: crate::files::FileError) -> Self {
        let what = format!("cannot {} {}: {}", failure.doing, failure.place.display(), failure.why);
        Self { kind: Kind::Input, what, place: None, mend: as_sentence(&failure.mend) }
    }
}

/// How to mend it, which goes on from a semicolon in a file's error, as the sentence of its own line.
fn as_sentence(mend: &str) -> String {
    let command = mend.starts_with("earfirst ");
    let said = if command { mend.to_owned() } else { capital(mend) };
    if said.ends_with(['.', '?', '!']) || command { said } else { said + "." }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_to_mend_it_is_a_sentence_of_its_own_below_whatever_file_it_is_about() {
        assert_eq!(as_sentence("check the name"), "Check the name.");
        assert_eq!(as_sentence("Is it the right file?"), "Is it the right file?");
        assert_eq!(as_sentence("earfirst sessions lists them"), "earfirst sessions lists them");
    }

    #[test]
    fn what_a_file_holds_neither_colours_a_terminal_nor_turns_its_writing_around() {
        assert_eq!(clean("a\u{1b}[31mb\u{202e}c\u{2066}d"), "a\u{fffd}[31mb\u{fffd}c\u{fffd}d");
        assert_eq!(clean("two\n\tlines, Kjögx é"), "two\n\tlines, Kjögx é");
    }
}
