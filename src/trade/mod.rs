//! Trading over a form: a phrase is sounded over some bars, the player answers over the same bars played once more, and so on
//! through the form and through the keys without a stop.
//!
//! Flow: form and keys give which phrase lies where, in beats ([`Trade`]); that gives one sound of band and phrases ([`sound`]).
//! While it sounds, [`Trader`] says what is due and judges what is heard, chorus by chorus: each answer with its seams and its
//! landing is a [`JudgedExchange`]. In a free chorus nothing is asked and nothing judged: what is heard is handed on as a
//! [`FreeChorus`]. This room has no generator and no clock of its own: both are arguments. [`vamp`] lays the same
//! band under a round of a drill.
//!
//! The player plays the phrase, finishes it, or varies it ([`TradeWay`]).
//!
//! # To change it
//! How bars are shared out: `plan.rs`, in free choruses `free_form.rs`; what a simulated player plays there: `improvised.rs`; how it
//! sounds: `sounded.rs`; how it is made again from its record: `recorded.rs`; what is due when: `trader.rs`; what is asked of the player: `way.rs`; the rules of a variation: `varied.rs`;
//! what is said of seams and landings: `judged.rs`, in the words of `words/traded.rs`. `cargo test trades`, `cargo test trade::`.

mod free_form;
#[cfg(test)]
mod free_tests;
mod improvised;
mod judged;
#[cfg(test)]
mod judged_tests;
mod plan;
mod recorded;
mod sounded;
mod trader;
mod vamp;
mod varied;
mod way;

pub use free_form::FreeChorus;
pub use judged::JudgedExchange;
pub use plan::{Exchange, Trade, TradeRound, TradeWish};
pub use recorded::PhraseAgain;
pub use sounded::{SOUND_VERSION, sound};
pub use trader::{TradeMoment, Trader};
pub use vamp::vamp;
pub use varied::Variation;
pub use way::TradeWay;
