use crate::music::ConcertKey;
use crate::session::{Judgement, Session, Trial};
use crate::verdict::{TimeOrigin, Verdict};

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

impl Judged<'_> {
    /// The reflex time of a free answer that counts, in seconds.
    pub fn reflex(&self) -> Option<f64> {
        let free = matches!(self.trial.answer.as_ref()?.clock, TimeOrigin::Free { .. });
        self.verdict.reflex.filter(|reflex| free && reflex.counted).map(|reflex| reflex.time.0)
    }

    /// The pace of an answer in tempo that went up, in quarters a minute.
    pub fn pace(&self) -> Option<f64> {
        let in_tempo = matches!(self.trial.answer.as_ref()?.clock, TimeOrigin::InTempo { .. });
        self.verdict.pace.filter(|_| in_tempo && self.judgement.passed()).map(|pace| pace.0)
    }
}

/// The answers that count: those to cues that count (see `counts`), with a note heard, judged to be an attempt at the pattern, and
/// not contested.
pub(super) fn judged(sitting: usize, session: &Session) -> impl Iterator<Item = Judged<'_>> {
    session.trials.iter().filter(|trial| counts(trial) && trial.answered() && !trial.contested).filter_map(
        move |trial| {
            let judgement = trial.judgement.as_ref().filter(|judgement| judgement.verdict.related)?;
            Some(Judged { sitting, session, trial, judgement, verdict: &judgement.verdict })
        },
    )
}

/// Whether the coach chose the cue (it was not asked for again, nor part of a line taken apart), its key was not told late and no
/// second task stood beside it: keys told late and second tasks have tables of their own.
pub(super) fn counts(trial: &Trial) -> bool {
    !trial.reason.uncounted() && !trial.cue.probes()
}

/// A count as `u32`; a count that does not fit becomes the largest one.
pub(super) fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// The order of the rows: round the circle of fifths.
pub(super) fn round(key: ConcertKey) -> usize {
    key.place()
}
