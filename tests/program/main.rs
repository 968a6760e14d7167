//! The program seen from outside, in one binary.

mod asking;
mod cues;
mod records;
