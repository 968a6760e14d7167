//! Text that has to fit into the columns of a terminal or a page. Widths are those of a terminal's cells (UAX 11, by `textwrap`).

use textwrap::core::display_width;
use textwrap::{Options, WordSplitter, WrapAlgorithm, wrap};

/// A text broken at blanks into lines of at most `columns`, the first begun with `first`, all others with `later`. A word longer than a
/// line is broken, so that no text runs over the edge of the page.
#[must_use]
pub fn wrapped(text: &str, columns: usize, first: &str, later: &str) -> Vec<String> {
    let options = Options::new(columns)
        .initial_indent(first)
        .subsequent_indent(later)
        .wrap_algorithm(WrapAlgorithm::FirstFit)
        .word_splitter(WordSplitter::NoHyphenation);
    wrap(text, options).into_iter().map(std::borrow::Cow::into_owned).collect()
}

/// A message of several lines broken at blanks into lines of at most `columns`; a line that goes on is set in as it was, by two columns
/// more. A word longer than a line stays whole, because it may be the name of a file.
#[must_use]
pub fn message(text: &str, columns: usize) -> String {
    let broken = |line: &str| {
        let inner = line.trim_start();
        let first = &line[..line.len() - inner.len()];
        let options = Options::new(columns.max(20))
            .initial_indent(first)
            .wrap_algorithm(WrapAlgorithm::FirstFit)
            .word_splitter(WordSplitter::NoHyphenation)
            .break_words(false);
        let later = format!("{first}  ");
        wrap(inner, options.subsequent_indent(&later)).join("\n")
    };
    text.split('\n').map(broken).collect::<Vec<_>>().join("\n")
}

/// How many columns a text takes.
#[must_use]
pub fn columns(text: &str) -> usize {
    display_width(text)
}

/// The beginning of a text that fits into `columns` columns.
#[must_use]
pub fn cut(text: &str, columns: usize) -> &str {
    let ends = text.char_indices().map(|(at, sign)| at + sign.len_utf8());
    let end = ends.take_while(|end| display_width(&text[..*end]) <= columns).last();
    &text[..end.unwrap_or(0)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_broken_at_blanks_and_only_a_word_too_long_for_it_within() {
        let lines = wrapped("F# came back  after 3 days", 14, "  ", "      ");
        assert_eq!(lines, ["  F# came back", "      after 3", "      days"]);
        assert_eq!(wrapped("one-note", 6, "", ""), ["one-no", "te"], "no hyphen of a name is a place to break");
        assert_eq!(wrapped("", 6, "> ", ""), [">"].map(|line| format!("{line} ")));
    }

    #[test]
    fn a_message_is_broken_at_blanks_and_never_within_the_name_of_a_file() {
        let said = message("no sound card says more\n  look into /tmp/2026-11-30-1050-trumpet.zip now", 22);
        let lines: Vec<&str> = said.lines().collect();
        let wanted = ["no sound card says", "  more", "  look into", "    /tmp/2026-11-30-1050-trumpet.zip", "    now"];
        assert_eq!(lines, wanted);
    }

    #[test]
    fn wide_signs_take_two_columns() {
        // East Asian Width, UAX 11: W is two columns wide, combining signs none.
        assert_eq!([columns("F♯"), columns("e\u{301}"), columns("練習")], [2, 1, 4]);
        assert_eq!([cut("練習", 3), cut("abc", 2), cut("abc", 9)], ["練", "ab", "abc"]);
    }
}
