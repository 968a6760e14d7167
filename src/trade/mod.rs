//! Trading over a form: a phrase is sounded over some bars, the player answers over the same bars played once more, and so on
//! through the form and through the keys without a stop.
//!
//! form and keys -> which phrase where, in beats ([`Trade`]) -> one sound of band and phrases ([`sound`]); beside it what is heard
//! -> what is due, chorus by chorus ([`Trader`]) -> [`JudgedExchange`], each pattern, seam and landing. This room has no generator
//! and no clock of its own: both are arguments. [`vamp`] lays the same band under a round of a drill.
//!
//! # To change it
//! How bars are shared out: `plan.rs`; how it sounds: `sounded.rs`; what is due when: `trader.rs`; what is said of seams and
//! landings: `judged.rs`, in the words of `words/traded.rs`. `cargo test trades`, `cargo test trade::`.

mod judged;
#[cfg(test)]
mod judged_tests;
mod plan;
mod sounded;
mod trader;
mod vamp;

pub use judged::{JudgedExchange, SeamVerdict};
pub use plan::{Exchange, Trade, TradeRound, TradeWish};
pub use sounded::sound;
pub use trader::{TradeMoment, Trader};
pub use vamp::vamp;
