//! Commands that practise: the drill on devices, the demo with the simulated player, and what the coach would ask next.

pub(super) mod coach;
mod days;
pub(super) mod demo;
pub(super) mod drill;
pub(super) mod lesson;
mod simulated_player;
pub(super) mod sitting;
mod stock;
pub(super) mod trade;
mod trade_planned;
mod trade_shown;
