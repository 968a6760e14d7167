//! Arguments in, exit code out.

pub mod coach_lines;
pub mod grade_lines;
