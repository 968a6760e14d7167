//! Mono sound in memory: clips, tones of exact pitch, and what a room does to them.
//!
//! # To change it
//! A tone's sound: `tone.rs`, `partials.rs`; rates: `resample.rs`; where one sound lies in another: `delay.rs`. `cargo test sound::`.

mod block;
mod clip;
mod delay;
mod input_stretch;
mod partials;
mod placement;
mod resample;
mod response;
mod shared;
mod simulated_room;
mod tone;

pub use block::SoundBlock;
pub use clip::Clip;
pub use delay::SoundFinder;
pub use input_stretch::InputStretch;
pub use partials::Partials;
pub use placement::Placement;
pub use response::convolve;
pub use shared::SharedSound;
pub use simulated_room::room_response;
pub use tone::{Tone, edge};
