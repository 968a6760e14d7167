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
    /// Whether the click goes on through the answer.
    pub click: bool,
    /// Warnings of keys that are told late: the beats between the moment the key is given and the answer, each warning as often as the
    /// others. Empty where no key is told late.
    pub warnings: Vec<u32>,
    /// The order of the keys in rounds without a stop; `None` where no rounds are asked, but for those that close a day.
    pub round: Option<RoundOrder>,
    /// Whether rounds are asked in the last minutes of a planned sitting.
    pub closing_round: bool,
    /// Whether a soft band plays under the rounds.
    pub vamp: bool,
    /// Whether keys and patterns are told by sound alone until they were answered, and held notes steer.
    pub by_ear: bool,
    /// Whether answers come in blocks beside taps, which are counted in one of each two blocks.
    pub second_task: bool,
    /// Length of the sitting, where it is planned.
    pub planned: Option<Seconds>,
    /// When lips and voice rest.
    pub rests: RestRules,
    /// Level at which the player answered a cue on these devices before; `None` before the first answer ever.
    pub level: Option<Decibels>,
    /// First line of the record; it also has the measured delay and how the player reads.
    pub began: Began,
}
