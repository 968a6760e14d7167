//! The record of a sitting: how it is written, cut off, spoilt, read again and reviewed.

mod beside;
mod class;
mod commented;
mod first_format;
mod forgotten;
mod heard_again;
pub mod kept;
mod killed;
mod lesson_page;
mod logged;
mod long;
mod made;
pub mod months;
mod mutated;
mod packed;
mod recordings;
pub mod recounted;
mod remembered;
mod repacked;
mod reviewed;
mod seasons;
mod spoiling;
#[cfg(feature = "school")]
mod tables;
mod told;
mod who;
mod written;
