use crate::coach::{Outcome, Reason};
use crate::cue::Cue;
use crate::units::Seconds;
use crate::verdict::Verdict;

/// What the coach learns from one verdict, on the drill's way and on the way of [`crate::session::replay`] alike. `None`
/// where nothing may be learnt: a cue that the player asked to hear again, an answer that was something else altogether, and
/// one that never came (no `heard` note), which is neither right nor wrong. A cue that sounds again because nothing came is
/// learnt from: its first sounding was not.
#[must_use]
pub fn outcome(cue: &Cue, reason: &Reason, verdict: &Verdict, day: i32, at: Seconds) -> Option<Outcome> {
    if matches!(reason, Reason::Again { .. }) || !verdict.related || verdict.played.is_empty() {
        return None;
    }
    Some(Outcome {
        pattern: cue.pattern.clone(),
        key: cue.key,
        register: cue.register,
        form: cue.form,
        timing: cue.timing,
        tempo: cue.tempo,
        right: verdict.right,
        of: verdict.of,
        passed: verdict.passed,
        reflex: verdict.reflex.filter(|reflex| reflex.counted).map(|reflex| reflex.time),
        day,
        at,
    })
}
