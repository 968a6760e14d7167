//! The record of a sitting: written, cut off, spoilt, read again, reviewed.

mod first_format;
pub mod kept;
mod killed;
mod made;
mod recordings;
mod reviewed;
mod written;
