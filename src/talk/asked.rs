//! What a sitting may ask, worked out from what was typed and what the settings hold.

use crate::coach::Plan;
use crate::cue::{Form, Timing};
use crate::music::Mode;
use crate::pattern::Pattern;
use crate::talk::player::Who;
use crate::words;

/// What a sitting may ask, and how.
#[derive(Debug, Clone)]
pub struct Meant {
    /// Who plays.
    pub who: Who,
    /// The patterns.
    pub patterns: Vec<Pattern>,
    /// The plan for the coach.
    pub plan: Plan,
    /// What is sounded.
    pub form: Form,
    /// How answers are timed.
    pub timing: Timing,
    /// So many beats before an answer its key is given, each as often as the others; empty where it is given as always.
    pub warnings: Vec<u32>,
}

impl Meant {
    /// What does not fit the player's range, a sentence each.
    pub fn out_of_range(&self) -> Vec<String> {
        let misfits =
            self.plan.out_of_range.misfits(self.patterns.iter().map(|pattern| (&pattern.id, pattern.name.as_str())));
        let name = |key| self.who.page.key(key, self.mode());
        misfits.iter().map(|misfit| words::fit::sentence(misfit, name)).collect()
    }

    /// The mode that all patterns have in common; major where they have none.
    fn mode(&self) -> Mode {
        let mut modes = self.patterns.iter().map(Pattern::mode);
        let first = modes.next().unwrap_or(Mode::Major);
        if modes.all(|mode| mode == first) { first } else { Mode::Major }
    }
}
