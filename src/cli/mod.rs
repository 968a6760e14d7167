//! Arguments in, exit code out.

pub mod grade_lines;
