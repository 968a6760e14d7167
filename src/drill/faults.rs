use std::collections::BTreeSet;

use crate::cue::Cue;
use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::verdict::Verdict;
use crate::words::names::Reader;
use crate::words::verdict::recurring;

/// The answers of a sitting, pattern by pattern, and which faults that came back were named already: a fault is named once,
/// when it has become a pattern.
#[derive(Debug, Default)]
pub(super) struct Faults(Vec<Answers>);

#[derive(Debug)]
struct Answers {
    pattern: PatternId,
    title: String,
    verdicts: Vec<(ConcertKey, Verdict)>,
    /// Notes whose fault was named.
    named: BTreeSet<usize>,
}

impl Faults {
    /// Enters an answer whose verdict stands; names the fault that is a pattern from now on.
    pub fn enter(&mut self, cue: &Cue, verdict: &Verdict, reader: &Reader) -> Option<String> {
        let known = self.0.iter().position(|answers| answers.pattern == cue.pattern);
        let place = known.unwrap_or_else(|| {
            let (pattern, title) = (cue.pattern.clone(), cue.title.clone());
            self.0.push(Answers { pattern, title, verdicts: Vec::new(), named: BTreeSet::new() });
            self.0.len() - 1
        });
        let answers = &mut self.0[place];
        answers.verdicts.push((cue.key, verdict.clone()));
        let fault = recurring(&answers.borrowed(), reader)?;
        answers.named.insert(fault.note).then_some(fault.sentence)
    }

    /// The faults that are patterns, at most one sentence for each pattern asked.
    pub fn all(&self, reader: &Reader) -> Vec<String> {
        let told = |answers: &Answers| {
            let fault = recurring(&answers.borrowed(), reader)?;
            Some(format!("{}: {}", answers.title, fault.sentence))
        };
        self.0.iter().filter_map(told).collect()
    }
}

impl Answers {
    fn borrowed(&self) -> Vec<(ConcertKey, &Verdict)> {
        self.verdicts.iter().map(|(key, verdict)| (*key, verdict)).collect()
    }
}
