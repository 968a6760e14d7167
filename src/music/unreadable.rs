use thiserror::Error;

/// A name or symbol that could not be read, with the place at which reading stopped.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{text}\", column {column}: expected {expected}")]
pub struct Unreadable {
    /// What was given, shortened to 40 letters.
    pub text: String,
    /// The character at which reading stopped, counted from 1; one past the end where something is missing.
    pub column: usize,
    /// What would have been right there.
    pub expected: &'static str,
}

impl Unreadable {
    /// Reading `text` stopped where `rest` begins; `rest` is a tail of `text`.
    pub(super) fn at(text: &str, rest: &str, expected: &'static str) -> Self {
        let column = text.chars().count().saturating_sub(rest.chars().count()) + 1;
        Self { text: text.chars().take(40).collect(), column, expected }
    }
}
