use crate::music;
use crate::pattern::PatternId;
use crate::report::by_key::best_tempo;
use crate::report::figures::{AnswerFigures, SittingFigures, figures};
use crate::report::judged::{Judged, judged};
use crate::report::traded::{TradedPhrases, traded};
use crate::session::Session;
use crate::units::{Seconds, Tempo};
use crate::verdict::{FaultTally, RecurringFault};
use crate::words::reader::Reader;
use crate::words::verdict::recurring;
use crate::words::{Page, verdict::Recurring};

/// A pause of at least this length is a rest, whatever its cause.
const RESTS: Seconds = Seconds(30.0);

/// An answer that counts: its day, its figures, and the tempo that it held in tempo, where it went up, in quarters a minute.
pub(super) type ClassAnswer<'a> = (i32, &'a AnswerFigures, Option<f64>);

/// One sitting, as far as a class needs it.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassSitting {
    /// The figures of the sitting.
    pub figures: SittingFigures,
    /// The tempo that each answer of `figures` held in tempo, where it went up; in their order.
    pub held: Vec<Option<Tempo>>,
    /// The faults that came back in the sitting.
    pub faults: Vec<ClassFault>,
    /// The longest time in the sitting without a pause of half a minute.
    pub longest: Seconds,
    /// What was traded; `None` where the sitting was a drill.
    pub traded: Option<TradedPhrases>,
}

/// A fault that came back over the keys of one pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassFault {
    /// The pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub title: String,
    /// The note of the line, counted from 0 (0 also where the whole was played in another key), and what was wrong with it.
    pub fault: (usize, RecurringFault),
    /// What the fault was, and in how many keys.
    pub sentence: String,
}

impl ClassSitting {
    /// The answers that count: the day of the sitting, the answer, and the tempo that it held in tempo, where it went up.
    pub(super) fn answers(&self) -> impl Iterator<Item = ClassAnswer<'_>> {
        let day = self.figures.began.day;
        self.figures.answers.iter().zip(&self.held).map(move |(answer, held)| (day, answer, held.map(|held| held.0)))
    }
}

/// What a class needs of one record.
#[must_use]
pub fn class_sitting(session: &Session) -> ClassSitting {
    ClassSitting {
        figures: figures(session),
        held: judged(0, session).map(|answer| best_tempo(&answer)).collect(),
        faults: faults(session),
        longest: longest(session),
        traded: traded(session),
    }
}

/// The longest time in a sitting without a pause of half a minute.
pub(in crate::report) fn longest(session: &Session) -> Seconds {
    let (mut from, mut longest) = (0.0, 0.0f64);
    for pause in &session.pauses {
        let until = pause.until.unwrap_or(session.until);
        if (until - pause.from).0 >= RESTS.0 {
            longest = longest.max(pause.from.0 - from);
            from = until.0;
        }
    }
    Seconds(longest.max(session.until.0 - from))
}

/// The faults that came back, found by the rules by which the drill and the review name them.
fn faults(session: &Session) -> Vec<ClassFault> {
    let Ok(instrument) = music::instrument(&session.began.instrument) else { return Vec::new() };
    let page = Page::new(instrument.at(session.began.level), session.began.reading);
    let answers: Vec<Judged<'_>> = judged(0, session).collect();
    let mut patterns: Vec<&Judged<'_>> = Vec::new();
    for answer in &answers {
        if patterns.iter().all(|known| known.trial.cue.pattern != answer.trial.cue.pattern) {
            patterns.push(answer);
        }
    }
    let mut found = Vec::new();
    for first in patterns {
        let cue = &first.trial.cue;
        let mine: Vec<_> = answers
            .iter()
            .filter(|answer| answer.trial.cue.pattern == cue.pattern)
            .map(|answer| (answer.trial.cue.key, answer.verdict))
            .collect();
        let reader = Reader::of(&page, cue, session.began.delay.is_some());
        let tally = FaultTally::of(&mine, reader.instrument().intonation);
        let named = |it: Recurring| ClassFault {
            pattern: cue.pattern.clone(),
            title: cue.title.clone(),
            fault: it.fault(),
            sentence: it.sentence,
        };
        found.extend(recurring(&tally, &reader).into_iter().map(named));
    }
    found
}
