use crate::music::Intonation;
use crate::notes::HeardNote;
use crate::trade::plan::Exchange;
use crate::trade::varied::Variation;
use crate::trade::way::TradeWay;
use crate::units::{Beats, Seconds, rank};
use crate::verdict::{Expectation, Finding, SeamVerdict, TimeOrigin, UsualTuning, Verdict, findings, judge, seams};

/// An answer may begin this long before its bars, and its notes may begin this long after them.
const AROUND: Beats = Beats(0.5);

/// One answer over a form, judged.
#[derive(Debug, Clone)]
pub struct JudgedExchange {
    /// What was asked.
    pub exchange: Exchange,
    /// What was heard in its bars, and for half a beat before and after them.
    pub heard: Vec<HeardNote>,
    /// What the answer was compared with.
    pub asked: Expectation,
    /// The verdict on all notes of the answer.
    pub verdict: Verdict,
    /// The seams in order; the step to a landing of its own is a seam too. Empty where what was heard is no attempt (`related` in
    /// the verdict).
    pub seams: Vec<SeamVerdict>,
    /// Whether the last note that was asked is right.
    pub landed: bool,
    /// How the phrase was varied, where it was to be varied and something was played.
    pub varied: Option<Variation>,
    /// Whether the answer could come to its end. Where the player broke off before, nothing may be said of it.
    pub over: bool,
}

impl JudgedExchange {
    /// Judges one exchange by all that was heard. `at` tells the instant of a beat on the clock of what was heard.
    #[must_use]
    pub fn of(
        exchange: &Exchange,
        heard: &[HeardNote],
        at: &dyn Fn(Beats) -> Seconds,
        delay: Option<Seconds>,
        intonation: Intonation,
    ) -> Self {
        let late = delay.unwrap_or(Seconds(0.0));
        let (from, until) = (at(exchange.answered - before(exchange)) + late, at(exchange.ends + AROUND) + late);
        let mut heard: Vec<HeardNote> =
            heard.iter().filter(|note| from.0 <= note.onset.0 && note.onset.0 < until.0).copied().collect();
        heard.sort_by_cached_key(|note| rank(note.onset.0));
        let line = exchange.cue.line.clone();
        let last = exchange.lead.notes.last().map_or(Beats(0.0), |note| note.at + note.length);
        let clock = TimeOrigin::InTempo { cue_end: at(exchange.sounded + last), beat_zero: at(exchange.answered) };
        let tempo = exchange.cue.tempo;
        let asked = Expectation { line, tempo, clock, delay, intonation, usual: UsualTuning::Unknown };
        let verdict = judge(&asked, &heard);
        let seams = seams(&exchange.cue.seam_notes(), &verdict);
        let landed = verdict.expected.last().is_some_and(|note| note.label.is_right());
        let due: Vec<Seconds> = asked.line.notes.iter().map(|note| at(exchange.answered + note.at) + late).collect();
        let varied = (exchange.way == TradeWay::Vary).then(|| Variation::of(exchange, &heard, &due)).flatten();
        Self { exchange: exchange.clone(), heard, asked, verdict, seams, landed, over: true, varied }
    }

    /// Whether the answer came back all right: as it was asked, or varied by a rule where it was to be varied.
    #[must_use]
    pub fn whole(&self) -> bool {
        match self.exchange.way {
            TradeWay::Vary => self.varied.is_some_and(|it| it.taken.passed()),
            TradeWay::Answer | TradeWay::Finish => self.verdict.whole(),
        }
    }

    /// Whether an answer that came back all right, as it was asked, was out of time or tune all the same, or had a gap at a seam.
    #[must_use]
    pub fn out_of_time_or_tune(&self) -> bool {
        let gap = || self.seams.iter().any(|seam| seam.stands_out);
        let fault = || findings(&self.verdict, &self.asked).iter().any(Finding::is_fault);
        self.exchange.way != TradeWay::Vary && self.whole() && (gap() || fault())
    }
}

/// How long before its bars an answer may begin. Whoever finishes a phrase may play its first half too, which is no part of the answer:
/// that begins halfway from the last note that was sounded to the first that is asked.
fn before(exchange: &Exchange) -> Beats {
    match (exchange.way, exchange.lead.notes.last(), exchange.cue.line.notes.first()) {
        (TradeWay::Finish, Some(last), Some(first)) => Beats(-(last.at + first.at).0 / 2.0),
        _ => AROUND,
    }
}
