//! Mono sound in memory.

mod clip;

pub use clip::Clip;
