//! What is asked, as data and as sound.

mod asked;

pub use asked::{Cue, Form, Timing};
