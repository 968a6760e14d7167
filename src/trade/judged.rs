use crate::music::Intonation;
use crate::notes::HeardNote;
use crate::trade::plan::Exchange;
use crate::units::{Beats, Seconds, rank};
use crate::verdict::{Expectation, SeamVerdict, TimeOrigin, UsualTuning, Verdict, judge, seams};

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
        let (from, until) = (at(exchange.answered - AROUND) + late, at(exchange.ends + AROUND) + late);
        let mut heard: Vec<HeardNote> =
            heard.iter().filter(|note| from.0 <= note.onset.0 && note.onset.0 < until.0).copied().collect();
        heard.sort_by_cached_key(|note| rank(note.onset.0));
        let line = exchange.cue.line.clone();
        let last = line.notes.last().map_or(Beats(0.0), |note| note.at + note.length);
        let clock = TimeOrigin::InTempo { cue_end: at(exchange.sounded + last), beat_zero: at(exchange.answered) };
        let tempo = exchange.cue.tempo;
        let asked = Expectation { line, tempo, clock, delay, intonation, usual: UsualTuning::Unknown };
        let verdict = judge(&asked, &heard);
        let seams = seams(&exchange.cue.seam_notes(), &verdict);
        let landed = verdict.expected.last().is_some_and(|note| note.label.is_right());
        Self { exchange: exchange.clone(), heard, asked, verdict, seams, landed, over: true }
    }
}
