//! The drill joined to sound. One loop ([`Running`]) for live devices and for the simulated player: they differ only in who
//! fills the input ([`Sound`]).
//!
//! Flow: sound in -> echo of the cue taken out -> ear -> drill -> effects: a cue to sound, a state to show, a line to keep.

mod again;
mod hearing;
mod history;
mod listener;
mod live;
mod run;
mod sound;
mod stage;

pub use again::{Again, Differs, judge_again};
pub use hearing::Hearing;
pub use history::History;
pub use listener::Listener;
pub use live::Live;
pub use run::{Out, Running, rendering, unattended};
pub use sound::{Place, Sound, Stretch};
pub use stage::Stage;
