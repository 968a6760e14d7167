use crate::music::Intonation;
use crate::notes::HeardNote;
use crate::pattern::Line;
use crate::trade::plan::Exchange;
use crate::units::{Beats, Seconds, rank};
use crate::verdict::{Expectation, NoteLabel, TimeOrigin, Usual, Verdict, judge};

/// A gap at a seam stands out where it is larger than this and than twice the answer's own unevenness.
const GAP: Seconds = Seconds(0.05);
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

/// What became of one seam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeamVerdict {
    /// The first note after the seam, by its place in the line, counted from 0.
    pub note: usize,
    /// Whether the notes on both sides of the seam are right.
    pub right: bool,
    /// How much later than the line asks that note came after the note before the seam, by the answer's own pulse; negative is
    /// sooner. `None` where one of the two was not heard.
    pub gap: Option<Seconds>,
    /// Whether the gap is larger than .05 s and than twice the unevenness of the other notes.
    pub stands_out: bool,
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
        let asked = Expectation { line, tempo, clock, delay, intonation, usual: Usual::Unknown };
        let verdict = judge(&asked, &heard);
        let seams = seams(exchange, &asked.line, &verdict);
        let landed = verdict.expected.last().is_some_and(|note| is_right(note.label));
        Self { exchange: exchange.clone(), heard, asked, verdict, seams, landed, over: true }
    }
}

const fn is_right(label: NoteLabel) -> bool {
    matches!(label, NoteLabel::Right | NoteLabel::Merged)
}

fn seams(exchange: &Exchange, line: &Line, verdict: &Verdict) -> Vec<SeamVerdict> {
    if !verdict.related {
        return Vec::new();
    }
    let at = exchange.phrase.seam_notes();
    let late = |n: usize| Some(verdict.expected.get(n)?.late?.0);
    let stood = |n: usize| verdict.stood.iter().find(|stood| stood.before == n).map_or(0.0, |stood| stood.by.0);
    let gap = |n: usize| Some(late(n)? - late(n.checked_sub(1)?)? + stood(n));
    let others: Vec<f64> = (1..line.notes.len()).filter(|n| !at.contains(n)).filter_map(gap).collect();
    let uneven = (others.iter().map(|gap| gap * gap).sum::<f64>() / (others.len().max(1)) as f64).sqrt();
    let right = |n: usize| verdict.expected.get(n).is_some_and(|note| is_right(note.label));
    let one = |&n: &usize| {
        let gap = gap(n);
        let stands_out = gap.is_some_and(|gap| gap.abs() > GAP.0.max(2.0 * uneven));
        SeamVerdict { note: n, right: right(n) && n > 0 && right(n - 1), gap: gap.map(Seconds), stands_out }
    };
    at.iter().map(one).collect()
}
