//! The record of a sitting: written, cut off, spoilt, read again.

mod made;
mod written;
