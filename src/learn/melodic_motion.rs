use crate::pattern::{Family, Line};

/// How a line moves from note to note; a repeated pitch is no move.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct MelodicMotion {
    /// Moves by a half step.
    pub half_steps: usize,
    /// Moves by a whole step.
    pub whole_steps: usize,
    /// Moves by a minor third or more.
    pub skips: usize,
}

/// Counts the moves of a line.
#[must_use]
pub fn motion(line: &Line) -> MelodicMotion {
    let mut motion = MelodicMotion::default();
    for pair in line.notes.windows(2) {
        match pair[1].pitch.0.abs_diff(pair[0].pitch.0) {
            0 => {}
            1 => motion.half_steps += 1,
            2 => motion.whole_steps += 1,
            _ => motion.skips += 1,
        }
    }
    motion
}

impl MelodicMotion {
    /// Number of all moves.
    #[must_use]
    pub const fn moves(self) -> usize {
        self.half_steps + self.whole_steps + self.skips
    }
    /// The family by motion: skips where at least half of the moves are skips, or else half steps where at least half are half
    /// steps, or else stepwise. A scale has fewer half steps than that, and an arpeggio with a step in it stays by skips (common
    /// practice: the family is what the hand mostly does).
    #[must_use]
    pub const fn family(self) -> Family {
        let half = self.moves();
        match self {
            Self { skips, .. } if skips > 0 && 2 * skips >= half => Family::Skips,
            Self { half_steps, .. } if half_steps > 0 && 2 * half_steps >= half => Family::HalfSteps,
            _ => Family::Stepwise,
        }
    }
}
