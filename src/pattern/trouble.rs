use std::fmt;
use std::ops::Range;

/// One thing wrong with a pattern file: where, what was expected, and the nearest right spelling.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PatternTrouble {
    /// The name of the file, as the caller gave it.
    pub file: String,
    /// The place of the trouble, in bytes of the file.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The text at that place, shortened; empty where something is missing.
    pub found: String,
    /// What was expected, as a noun phrase.
    pub expected: String,
    /// The nearest right spelling, where there is one.
    pub nearest: Option<String>,
}

/// A trouble whose place is known only as bytes inside a longer text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct SpanTrouble {
    /// The place, in bytes of the text.
    pub span: Range<usize>,
    /// What should stand there.
    pub expected: String,
    /// The nearest right spelling, where one is near.
    pub nearest: Option<String>,
}

impl SpanTrouble {
    /// A trouble without a nearest spelling.
    pub(super) fn new(span: Range<usize>, expected: impl Into<String>) -> Self {
        Self { span, expected: expected.into(), nearest: None }
    }
    /// The same trouble with the nearest right spelling.
    pub(super) fn nearest(mut self, spelling: Option<impl Into<String>>) -> Self {
        self.nearest = spelling.map(Into::into);
        self
    }
}

impl PatternTrouble {
    /// The trouble with its line and column in `text`. An end of its span outside the text or inside a character is moved back to the
    /// nearest boundary before it.
    pub(super) fn at(file: &str, text: &str, trouble: SpanTrouble) -> Self {
        let start = boundary(text, trouble.span.start);
        let end = boundary(text, trouble.span.end.max(start));
        let before = &text[..start];
        let line_start = before.rfind('\n').map_or(0, |n| n + 1);
        Self {
            file: file.to_owned(),
            span: start..end,
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            found: shortened(&text[start..end]),
            expected: trouble.expected,
            nearest: trouble.nearest,
        }
    }
}

fn boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// The first line of a text, cut off after 24 characters.
fn shortened(text: &str) -> String {
    let line = text.lines().next().unwrap_or_default();
    let mut short: String = line.chars().filter(|c| !c.is_control()).take(24).collect();
    if line.chars().count() > 24 {
        short.push_str("...");
    }
    short
}

impl fmt::Display for PatternTrouble {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}:{}:{}: expected {}", self.file, self.line, self.column, self.expected)?;
        if !self.found.is_empty() {
            write!(out, ", found `{}`", self.found)?;
        }
        match &self.nearest {
            Some(spelling) => write!(out, "; write `{spelling}`"),
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trouble_is_shown_by_line_and_column_of_characters() {
        let text = "a\nfür b9x\n";
        let at = text.find("b9x").unwrap();
        let trouble = SpanTrouble::new(at..at + 3, "a degree").nearest(Some("b9"));
        let trouble = PatternTrouble::at("mine.toml", text, trouble);
        assert_eq!((trouble.line, trouble.column), (2, 5));
        assert_eq!(trouble.to_string(), "mine.toml:2:5: expected a degree, found `b9x`; write `b9`");
    }

    #[test]
    fn a_span_past_the_end_points_at_the_end() {
        let trouble = PatternTrouble::at("x", "é", SpanTrouble::new(1..99, "more"));
        assert_eq!((trouble.span, trouble.column), (0..2, 1));
    }
}
