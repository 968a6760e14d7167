//! What the typed arguments mean: who plays, which patterns, what a sitting may ask.

mod devices;
mod library;
mod plan;
mod player;

pub use devices::{devices, loudspeaker, microphone, no_sound};
pub use library::{cue, library, pattern};
pub use plan::{GOALS, Meant, tempo};
pub use player::Who;
