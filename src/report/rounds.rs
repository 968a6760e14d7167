use std::collections::BTreeMap;

use crate::session::Session;
use crate::verdict::right_in_time;

/// For each round without a stop, in order: the number of answers that were all right and on their beat, and of all that were asked. A
/// cue that was broken off or contested counts in neither.
pub(super) fn rounds(session: &Session) -> Vec<(u32, u32)> {
    let mut rounds: BTreeMap<u32, (u32, u32)> = BTreeMap::new();
    for trial in session.trials.iter().filter(|trial| trial.answer.is_some() && !trial.contested) {
        let Some(number) = trial.cue.round else { continue };
        let judgement = trial.judgement.as_ref();
        let right = judgement.is_some_and(|it| right_in_time(&it.verdict, trial.cue.tempo, session.began.delay));
        let (hits, asked) = rounds.entry(number).or_default();
        (*hits, *asked) = (hits.saturating_add(u32::from(right)), asked.saturating_add(1));
    }
    rounds.into_values().collect()
}
