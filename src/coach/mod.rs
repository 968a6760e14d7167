//! What is known per pattern and key, and what is asked next, at what tempo, and why; as data.
//!
//! Beliefs are a pure function of the outcomes that were learnt, in order: replaying a session gives them bit for bit.

mod choice;

pub use choice::{Choice, Goals, Outcome, Phase, Plan, Reason};
