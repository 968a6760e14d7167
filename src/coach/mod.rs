//! What is known per pattern and key, and what is asked next, at what tempo, and why; as data.
//!
//! A choice is made ([`Beliefs::choose`]) and entered ([`Beliefs::asked`]), the answer is judged elsewhere and entered too
//! ([`Beliefs::learn`]). Beliefs are a pure function of what was entered, in order: replaying a session gives them bit for bit.
//!
//! Turns go by credit: every key earns with its need and pays when it is asked, so weak keys come more often, evenly spread,
//! and none waits for long. The tempo of each key is a staircase of its own. No points, no streaks: a day of rest costs nothing.
//!
//! Sources, from memory: Waldspurger & Weihl 1995 (stride scheduling), Kaernbach 1991 (weighted up-down staircase).

mod ahead;
mod beliefs;
mod choice;
mod choosing;
mod day;
mod dice;
mod forgetting;
mod ladder;
mod need;
mod row;
mod sitting;
mod unfit;

pub use beliefs::Beliefs;
pub use choice::{Choice, Goals, Outcome, Phase, Plan, Reason, Stage};
pub use day::{Day, FirstTry, Holds};
pub use dice::Dice;
pub use forgetting::{Back, Gap, Lost};
pub use ladder::{Rule, SHARE, SLOWEST};
pub use need::Need;
pub use row::{RegisterRow, Row};
pub use sitting::{Rest, Sitting, Spared};
pub use unfit::{Misfit, Unfit};
