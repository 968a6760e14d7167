//! The coach from outside: what it asks, why, and what it remembers.

mod learner;
mod memory;
mod thirty_days;
mod turns;
