//! Commands that practise: the drill on devices, the demo with the simulated player, the plan of a day, a lesson, a trade, and what
//! the coach would ask next.

pub(super) mod coach;
pub(super) mod demo;
pub(super) mod drill;
pub(super) mod lesson;
pub(super) mod sitting;
pub(super) mod today;
pub(super) mod trade;
