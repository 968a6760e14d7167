use crate::coach::{Plan, RoundOrder};
use crate::cue::{Form, Timing};
use crate::drill::RestRules;
use crate::music::{Instrument, Range};
use crate::pattern::Pattern;
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
    /// Warnings of keys that are told late: the beats between the moment the key is given and the answer, each warning as often as
    /// the others. Empty for a drill whose keys are given as always.
    pub warnings: Vec<u32>,
    /// Through the keys without a stop, in this order; `None` for a drill as always.
    pub round: Option<RoundOrder>,
    /// The last minutes of a planned sitting are a round.
    pub closing_round: bool,
    /// A soft band plays under the rounds.
    pub vamp: bool,
    /// Keys and patterns are told by sound alone until they were answered, and played notes steer.
    pub by_ear: bool,
    /// Length of the sitting, where it is planned.
    pub planned: Option<Seconds>,
    /// When to rest.
    pub rests: RestRules,
    /// Level at which the player answered a cue on these devices before; `None` before the first answer ever.
    pub level: Option<Decibels>,
    /// First line of the record; it has the measured delay and how the player reads too.
    pub began: Began,
}
