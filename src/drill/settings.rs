use crate::coach::Plan;
use crate::cue::{Form, Timing};
use crate::drill::RestRules;
use crate::music::{ConcertKey, Instrument, Range};
use crate::pattern::{self, Pattern, Register};
use crate::session::Began;
use crate::units::{Decibels, Seconds};

/// What a sitting is built from.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// The player's instrument.
    pub instrument: Instrument,
    /// The player's own sounding range.
    pub range: Range,
    /// The patterns of the plan, in its order.
    pub patterns: Vec<Pattern>,
    /// What may be asked.
    pub plan: Plan,
    /// What is sounded before an answer.
    pub form: Form,
    /// How answers are timed.
    pub timing: Timing,
    /// The click goes on through the answer.
    pub click: bool,
    /// Length of the sitting, where it is planned.
    pub planned: Option<Seconds>,
    /// When to rest.
    pub rests: RestRules,
    /// Level at which the player is known to hear a cue; `None` before the first answer ever.
    pub level: Option<Decibels>,
    /// Gb instead of F# on the page.
    pub g_flat: bool,
    /// First line of the record; holds the measured delay too.
    pub began: Began,
}

impl Settings {
    /// The plan's keys in which every pattern of the plan fits the player's range, and those in which one does not. What fits
    /// in one register fits in all: the register chooses among the octaves that fit.
    #[must_use]
    pub fn fitting_keys(&self) -> (Vec<ConcertKey>, Vec<ConcertKey>) {
        let fits = |key: &ConcertKey| {
            let mut each = self.patterns.iter();
            each.all(|pattern| pattern::realise(pattern, *key, None, self.range, Register::Middle).is_ok())
        };
        self.plan.keys.iter().partition(|key| fits(key))
    }
}
