use std::fmt;
use std::ops::Range;

/// One thing wrong with a chart: what, where, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misprint {
    /// The place of the misprint, in bytes of the text.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub mend: String,
}

/// A misprint whose place is known only as bytes of a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct MisprintSpan {
    /// The place, in bytes of the text.
    pub span: Range<usize>,
    /// What is wrong there.
    pub what: String,
    /// What to write instead.
    pub mend: String,
}

impl MisprintSpan {
    /// A misprint at `span`.
    pub(super) fn new(span: Range<usize>, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { span, what: what.into(), mend: mend.into() }
    }
    /// The misprint with its line and column in `text`. An end of the span outside the text or inside a character is moved back to
    /// the nearest boundary before it.
    pub(super) fn placed(self, text: &str) -> Misprint {
        let boundary = |at: usize| (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
        let start = boundary(self.span.start);
        let before = &text[..start];
        let line_start = before.rfind('\n').map_or(0, |n| n + 1);
        Misprint {
            span: start..boundary(self.span.end).max(start),
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            what: self.what,
            mend: self.mend,
        }
    }
}

impl fmt::Display for Misprint {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}:{}: {}; {}", self.line, self.column, self.what, self.mend)
    }
}
