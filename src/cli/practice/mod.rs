//! Commands that practise: the drill on devices, the demo with the simulated player, the plan of a day, and what the coach would ask next.

pub(super) mod coach;
pub(super) mod demo;
pub(super) mod drill;
pub(super) mod lesson;
mod planned_day;
pub(super) mod sitting;
pub(super) mod today;
pub(super) mod trade;
mod trade_planned;
