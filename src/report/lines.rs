//! The lines of a report in plain text.

use crate::words::wrap;

/// Columns of a line.
const WIDTH: usize = 80;

/// Adds a line; what a stranger's figures push over the edge of the page is cut.
pub(super) fn line(out: &mut String, text: &str) {
    out.push_str(wrap::cut(text.trim_end(), WIDTH));
    out.push('\n');
}

/// A text broken at blanks, the lines after the first set in by four more.
pub(super) fn wrapped(out: &mut String, indent: &str, text: &str) {
    for text in wrap::wrapped(text, WIDTH, indent, &format!("{indent}    ")) {
        line(out, &text);
    }
}
