use crate::coach::{Choice, Divided, LearnerModel};
use crate::drill::apart::Apart;
use crate::drill::high_notes::HighNotes;
use crate::drill::late_keys::LateKeys;
use crate::words::verdict::Named;

/// The state before the latest answer was learnt from, so that the answer can be taken out again.
#[derive(Debug)]
pub(super) struct Before {
    /// Number of the answered cue.
    pub(super) cue: u32,
    /// What was believed of the player.
    pub(super) learner: LearnerModel,
    /// The answers by pattern, and the faults that were named.
    pub(super) named: Named,
    /// How often each key had failed, which keys were taken apart already, and the one that was taken apart, where one was.
    pub(super) apart: Apart,
    /// Number of answers in the sitting that were attempts at their line and that nobody called misheard.
    pub(super) answers: u32,
    /// How the top third of the range goes.
    pub(super) high_notes: HighNotes,
    /// What was to come next, where that was chosen.
    pub(super) next: Option<Choice>,
    /// What was counted of keys that are told late.
    pub(super) late_keys: Option<LateKeys>,
    /// What was counted of answers beside a second task.
    pub(super) divided: Option<Divided>,
}
