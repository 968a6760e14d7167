//! Patterns of the player's own: the whole library is sounded, heard and learnt again, and the commands are run.

mod commanded;
mod round_trip;
