//! Mono sound in memory: clips, tones of exact pitch, and what a room does to them.

mod clip;
mod delay;
mod partials;
mod resample;
mod response;
mod tone;

pub use clip::Clip;
pub use delay::{CorrelationPeak, find, find_first};
pub use partials::Partials;
pub use response::{convolve, room_response};
pub use tone::{SOFTEST_EDGE, Tone, edge};
