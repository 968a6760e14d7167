//! The lines of a report in plain text.

use crate::words::wrap;

/// Columns of a line.
const WIDTH: usize = 80;

/// Adds a line, cut at the edge of the page, which the figures of a foreign record may pass.
pub(super) fn line(out: &mut String, text: &str) {
    out.push_str(wrap::cut(text.trim_end(), WIDTH));
    out.push('\n');
}

/// Adds a text broken at blanks, the lines after the first set in by four more columns.
pub(super) fn wrapped(out: &mut String, indent: &str, text: &str) {
    for text in wrap::wrapped(text, WIDTH, indent, &format!("{indent}    ")) {
        line(out, &text);
    }
}
