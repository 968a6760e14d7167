use crate::music::ConcertKey;
use crate::session::{Judgement, Session, Trial};
use crate::verdict::Verdict;

/// One judged answer in its sitting.
#[derive(Debug, Clone, Copy)]
pub(super) struct Judged<'a> {
    /// Index of the sitting in its part.
    pub sitting: usize,
    /// The sitting.
    pub session: &'a Session,
    /// The cue and its answer.
    pub trial: &'a Trial,
    /// The judgement that stands.
    pub judgement: &'a Judgement,
    /// The verdict of the judgement.
    pub verdict: &'a Verdict,
}

/// The answers that count: sounded, judged, an attempt at the pattern, not contested, and not a cue the player asked to hear
/// again.
pub(super) fn judged(sitting: usize, session: &Session) -> impl Iterator<Item = Judged<'_>> {
    session.trials.iter().filter(|trial| counts(trial) && trial.answered() && !trial.contested).filter_map(
        move |trial| {
            let judgement = trial.judgement.as_ref().filter(|judgement| judgement.verdict.related)?;
            Some(Judged { sitting, session, trial, judgement, verdict: &judgement.verdict })
        },
    )
}

/// A cue the coach chose.
pub(super) fn counts(trial: &Trial) -> bool {
    !trial.reason.uncounted()
}

/// A count; what does not fit is as many as fit.
pub(super) fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// The order of the rows: round the circle of fifths.
pub(super) fn round(key: ConcertKey) -> usize {
    key.place()
}
