use crate::coach::Outcome;
use crate::cue::Cue;
use crate::units::Seconds;
use crate::verdict::Verdict;

/// What the coach learns from one verdict, on the drill's way and on the way of [`crate::session::replay`] alike. `None`
/// where nothing may be learnt: a cue that was only sounded again, and an answer that never came (no `heard` note), which is
/// neither right nor wrong.
#[must_use]
pub fn outcome(cue: &Cue, verdict: &Verdict, day: i32, at: Seconds) -> Option<Outcome> {
    if cue.repeat || verdict.played.is_empty() {
        return None;
    }
    Some(Outcome {
        pattern: cue.pattern.clone(),
        key: cue.key,
        register: cue.register,
        form: cue.form,
        timing: cue.timing,
        tempo: cue.tempo,
        right: if verdict.related { verdict.right } else { 0 },
        of: verdict.of,
        passed: verdict.passed,
        reflex: verdict.reflex.filter(|reflex| reflex.counted).map(|reflex| reflex.time),
        day,
        at,
    })
}
