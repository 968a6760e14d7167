//! Commands that practise: the drill on devices, the demo with the simulated player, and what the coach would ask next.

pub(super) mod coach;
pub(super) mod demo;
pub(super) mod drill;
pub(super) mod lesson;
pub(super) mod sitting;
pub(super) mod trade;
mod trade_planned;
