//! Numbers into words, in the player's written pitch: one sentence, computed from the numbers it speaks of.

pub mod reason;
