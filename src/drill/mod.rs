//! The conductor: a state machine without I/O. `step(Input) -> Vec<Effect>`; time is the input stream's own.

mod signal;
mod snapshot;

pub use signal::{Command, Effect, Input, Trouble};
pub use snapshot::{Face, JudgedAnswer, KeyRow, Snapshot};
