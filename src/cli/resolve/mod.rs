//! What the typed arguments mean: who plays, which patterns, what a sitting may ask.

mod plan;
mod player;
