//! What can be asked: the notation, the library of patterns, and a pattern realised as a line of expected notes.

mod line;
mod model;

pub use line::{ExpectedNote, Line, NoFit, Register};
pub use model::{Family, Pattern, PatternId};
