use crate::coach::{SparedTurn, SparedTurns};
use crate::cue::Cue;
use crate::units::Seconds;

/// The spared turns of a sitting, and the wait that one of them may fill.
#[derive(Debug, Clone)]
pub(super) struct Spares {
    /// When a turn is due, and of which kind.
    pub turns: SparedTurns,
    /// When the wait is over that lips and voice need before the next cue, and that a spared turn may fill; 0 where none is to be filled.
    pub waits_until: Seconds,
}

/// A spared turn that goes on.
#[derive(Debug, Clone)]
pub(super) struct OpenSpared {
    /// Whether it is sung or fingered.
    pub turn: SparedTurn,
    /// What is sounded.
    pub cue: Cue,
    /// Whether it is the first of the sitting.
    pub first: bool,
    /// When the cue is to be sounded.
    pub sounds: Seconds,
    /// When its answer is due.
    pub due: Seconds,
    /// When the time of the answer is over.
    pub until: Seconds,
    /// Whether the cue was sounded.
    pub sounded: bool,
    /// When the rest or the wait is over in whose place the turn came: then the next cue may come.
    pub then: Seconds,
    /// Whether what came in place of it is a planned rest, which goes on after the turn.
    pub rests: bool,
}

impl Spares {
    /// Offers these turns.
    pub fn new(may: &'static [SparedTurn]) -> Self {
        Self { turns: SparedTurns::new(may), waits_until: Seconds(0.0) }
    }
}
