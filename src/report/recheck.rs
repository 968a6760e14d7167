use crate::music::instrument;
use crate::session::{Session, Turn};
use crate::words::names::Reader;
use crate::words::verdict::sentence;

/// A sentence that is not the one shown when it is made again from the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mismatch {
    /// Number of the cue.
    pub cue: u32,
    /// The sentence that was shown.
    pub shown: String,
    /// The sentence the record gives now; empty where the record does not hold what is needed.
    pub now: String,
}

/// Makes every sentence again from the record and names those that differ from what was shown. A record whose instrument is
/// not known, or whose judgement has no answer, gives none.
#[must_use]
pub fn recheck(session: &Session) -> Vec<Mismatch> {
    let judged = session.turns.iter().filter_map(|turn| Some((turn, turn.judgement.as_ref()?)));
    judged
        .filter_map(|(turn, judgement)| {
            let now = again(session, turn).unwrap_or_default();
            let shown = judgement.sentence.clone();
            (now != shown).then_some(Mismatch { cue: turn.cue.number, shown, now })
        })
        .collect()
}

fn again(session: &Session, turn: &Turn) -> Option<String> {
    let instrument = instrument(&session.began.instrument).ok()?;
    let asked = turn.held_against(&session.began, instrument.intonation)?;
    let reader = Reader {
        instrument,
        key: turn.cue.key,
        calibrated: session.began.delay.is_some(),
        g_flat: session.began.g_flat,
    };
    Some(sentence(&turn.judgement.as_ref()?.verdict, &asked, &reader))
}
