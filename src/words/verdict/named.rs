use crate::coach::Reason;
use crate::cue::Cue;
use crate::music::Spelling;
use crate::pattern::PatternId;
use crate::verdict::{FaultTally, Verdict};
use crate::words::Page;
use crate::words::reader::Reader;

use super::{Recurring, recurring};

/// The answers of a sitting, pattern by pattern, and the faults that were named already: each fault is named once, when it has come back
/// often enough. A pure function of the verdicts that were entered, in order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Named(Vec<Answers>);

#[derive(Debug, Clone, PartialEq)]
struct Answers {
    pattern: PatternId,
    title: String,
    spelling: Spelling,
    tally: FaultTally,
    named: Vec<Recurring>,
}

impl Named {
    /// Enters an answer whose verdict stands; gives the sentence of a fault that came back often enough and was not named before. An
    /// answer that was another line, or whose cue the player or the drill's help asked for, is left out: it says nothing about the keys.
    pub fn enter(&mut self, cue: &Cue, why: &Reason, verdict: &Verdict, reader: &Reader) -> Option<String> {
        if !verdict.related || why.uncounted() {
            return None;
        }
        let known = self.0.iter().position(|answers| answers.pattern == cue.pattern);
        let place = known.unwrap_or_else(|| {
            let (pattern, title, spelling) = (cue.pattern.clone(), cue.title.clone(), cue.spelling);
            self.0.push(Answers { pattern, title, spelling, tally: FaultTally::default(), named: Vec::new() });
            self.0.len() - 1
        });
        let answers = &mut self.0[place];
        answers.tally.enter(cue.key, verdict, reader.instrument().intonation);
        let mut found = recurring(&answers.tally, reader).into_iter();
        let fault = found.find(|fault| !answers.named.iter().any(|named| named.is(fault)))?;
        answers.named.push(fault.clone());
        Some(fault.sentence)
    }

    /// The faults of a pattern that were named.
    #[must_use]
    pub fn of(&self, pattern: &PatternId) -> &[Recurring] {
        self.0.iter().find(|answers| answers.pattern == *pattern).map_or(&[], |answers| &answers.named)
    }

    /// One sentence at most for each pattern with an answer: the first fault that `recurring` names.
    #[must_use]
    pub fn all(&self, page: &Page) -> Vec<String> {
        let said = |answers: &Answers| {
            let key = answers.tally.first_key()?;
            let reader = Reader { page, key, spelling: answers.spelling, calibrated: false, usual_tempo: false };
            let fault = recurring(&answers.tally, &reader).into_iter().next()?;
            Some(format!("{}: {}", answers.title, fault.sentence))
        };
        self.0.iter().filter_map(said).collect()
    }
}
