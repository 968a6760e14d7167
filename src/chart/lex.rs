use std::ops::Range;

/// A sign between bars, or a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark<'t> {
    /// `|`
    Line,
    /// `||`
    Double,
    /// `|:` or `||:`
    Open,
    /// `:|` or `:||`
    Close,
    /// A run of bar lines and colons that is no sign of a chart.
    Odd,
    /// The name of a strain, its colon left out.
    Name(&'t str),
    /// Anything else.
    Word(&'t str),
}

/// The signs and words of a chart with their places in bytes. A run of bar lines and colons is one sign. A word is the name of a
/// strain where a colon follows it, and a blank follows the colon.
pub(super) fn marks(text: &str) -> Vec<(Range<usize>, Mark<'_>)> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(start) = text[at..].find(|c: char| !c.is_whitespace()).map(|n| at + n) {
        let rest = &text[start..];
        let ruled = rest.find(|c: char| c != '|' && c != ':').unwrap_or(rest.len());
        if ruled > 0 {
            at = start + ruled;
            let sign = match &text[start..at] {
                "|" => Mark::Line,
                "||" => Mark::Double,
                "|:" | "||:" => Mark::Open,
                ":|" | ":||" => Mark::Close,
                _ => Mark::Odd,
            };
            found.push((start..at, sign));
            continue;
        }
        let length = rest.find(|c: char| c.is_whitespace() || c == '|' || c == ':').unwrap_or(rest.len());
        let word = &rest[..length];
        at = start + length;
        let named = text[at..].strip_prefix(':').is_some_and(|after| after.starts_with(char::is_whitespace));
        if named {
            at += 1;
            found.push((start..at, Mark::Name(word)));
        } else {
            found.push((start..at, Mark::Word(word)));
        }
    }
    found
}
