//! The coach: what it asks, why, and what it remembers.

mod five_learners;
mod forecast;
mod held_out;
mod holds;
mod learner;
mod memory;
mod minutes;
mod planted_learners;
mod thirty_days;
mod turns;
mod twelve_in_sound;
