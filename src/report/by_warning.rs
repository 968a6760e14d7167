use crate::coach::{ShortestWarning, Warned, WarnedShare};
use crate::music::ConcertKey;
use crate::report::judged::round;
use crate::session::{Session, Trial};
use crate::verdict::{Untimed, right_in_time};

/// How a key came out when it was told late.
#[derive(Debug, Clone, PartialEq)]
pub struct WarningRow {
    /// The key, as it sounds; `None` for all keys together.
    pub key: Option<ConcertKey>,
    /// What was answered after each warning, the longest first.
    pub shares: Vec<WarnedShare>,
    /// The range of the shortest warning that leaves .8 of the answers right.
    pub shortest: ShortestWarning,
}

/// A row for each key that was told late, round the circle of fifths, and a last row for all of them together; no row where no key
/// was told late.
pub(super) fn warning_rows(sessions: &[&Session]) -> Vec<WarningRow> {
    let answers: Vec<(ConcertKey, u32, bool)> = sessions.iter().flat_map(|session| answers(session)).collect();
    let row = |key: Option<ConcertKey>| {
        let mut warned = Warned::default();
        let mine = answers.iter().filter(|(of, ..)| key.is_none_or(|key| key == *of));
        mine.for_each(|(_, warning, right)| warned.enter(*warning, *right));
        WarningRow { key, shares: warned.shares(), shortest: warned.shortest() }
    };
    let mut keys: Vec<ConcertKey> = answers.iter().map(|(key, ..)| *key).collect();
    keys.sort_by_key(|key| round(*key));
    keys.dedup();
    let all = (!keys.is_empty()).then_some(None);
    keys.into_iter().map(Some).chain(all).map(row).collect()
}

/// One row for all keys together, from what was counted before: beats of warning, number right, number of all. `None` where no key was
/// told late.
pub(super) fn all_warnings<'a>(late: impl Iterator<Item = &'a (u32, u32, u32)>) -> Option<WarningRow> {
    let mut warned = Warned::default();
    late.for_each(|(warning, right, of)| warned.enter_all(*warning, *right, *of));
    let shares = warned.shares();
    (!shares.is_empty()).then(|| WarningRow { key: None, shares, shortest: warned.shortest() })
}

/// Every answer to a key that was told late, silence included: its key, its warning, and whether it was all right and on its beat.
fn answers(session: &Session) -> impl Iterator<Item = (ConcertKey, u32, bool)> {
    session.trials.iter().enumerate().filter_map(|(n, trial)| {
        let warning = trial.cue.warning.filter(|_| !trial.reason.uncounted() && !trial.contested)?;
        // A cue that sounded once more was not heard the first time.
        let once_more = session.trials.get(n + 1).is_some_and(|next| next.cue.repeat);
        let right = right(session, trial).filter(|_| !once_more)?;
        Some((trial.cue.key, warning, right))
    })
}

/// Whether an answer was all right and on its beat, which silence is not; `None` where that is not known: the cue was broken off, or the
/// sound had an xrun.
fn right(session: &Session, trial: &Trial) -> Option<bool> {
    let Some(judgement) = &trial.judgement else {
        return trial.answer.as_ref().filter(|answer| answer.heard.is_empty()).map(|_| false);
    };
    let xrun = judgement.verdict.untimed == Some(Untimed::Xrun);
    (!xrun).then(|| right_in_time(&judgement.verdict, trial.cue.tempo, session.began.delay))
}
