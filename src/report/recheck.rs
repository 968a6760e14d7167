use crate::music::instrument;
use crate::session::{Session, Trial};
use crate::verdict::{Tuned, Verdict};
use crate::words::Page;
use crate::words::reader::Reader;
use crate::words::verdict::{Named, sentence};

/// A sentence that differs from the one shown when it is made again from the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mismatch {
    /// Number of the cue.
    pub cue: u32,
    /// The sentence that was shown.
    pub shown: String,
    /// The sentence the record gives now; empty where the record does not have what is needed.
    pub now: String,
}

/// Makes every sentence again from the record and names those that differ from what was shown. Where the instrument is not known, or a
/// judgement has no answer, the sentence made again is empty.
#[must_use]
pub fn recheck(session: &Session) -> Vec<Mismatch> {
    let (mut named, mut tuned) = (Named::default(), Tuned::default());
    let mut found = Vec::new();
    for trial in &session.trials {
        let Some(judgement) = &trial.judgement else { continue };
        let now = again(session, trial, &judgement.verdict, &mut named, &mut tuned).unwrap_or_default();
        let shown = judgement.sentence.clone();
        if now != shown {
            found.push(Mismatch { cue: trial.cue.number, shown, now });
        }
    }
    found
}

fn again(session: &Session, trial: &Trial, verdict: &Verdict, named: &mut Named, tuned: &mut Tuned) -> Option<String> {
    let page = Page::new(instrument(&session.began.instrument).ok()?.at(session.began.level), session.began.reading);
    let asked = trial.expectation(&session.began, page.instrument.intonation, tuned.usual())?;
    let reader = Reader::of(&page, &trial.cue, session.began.delay.is_some());
    let heard = trial.answer.as_ref().map_or(&[][..], |answer| &answer.heard);
    let sentence = sentence(verdict, &asked, heard, &reader, named.of(&trial.cue.pattern));
    if !trial.contested {
        named.enter(&trial.cue, &trial.reason, verdict, &reader);
    }
    tuned.enter(verdict, &asked, heard);
    Some(sentence)
}
