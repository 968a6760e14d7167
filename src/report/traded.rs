//! A trade in figures: what was sounded over a chart and what came back, or what was played there freely.

use crate::report::judged::number;
use crate::session::{Judgement, Session, TradeMark};
use crate::words::numbers::numbered;

/// The phrases of a trade.
#[derive(Debug, Clone, PartialEq)]
pub struct TradedPhrases {
    /// The chart, and how it was traded over.
    pub mark: TradeMark,
    /// Number of phrases that were sounded and whose answer was due.
    pub phrases: u32,
    /// Number of phrases in whose bars something was played, without those that are contested.
    pub answered: u32,
    /// Number of phrases that came back all right, or varied by a rule where they were to be, without those that are contested.
    pub whole: u32,
    /// Whether the phrases were to be varied.
    pub varied: bool,
    /// Number of phrases in whose answer the trade was broken off, so that they have no verdict.
    pub broken_off: u32,
    /// Number of free choruses in which something was played, and of their notes; no phrase counts there.
    pub free: (u32, u32),
}

impl TradedPhrases {
    /// The trade in a few words.
    pub(super) fn words(&self) -> String {
        let over = format!("over {} at quarter = {:.0}", self.mark.chart, self.mark.tempo.0);
        if self.mark.free.is_some() {
            let (choruses, notes) =
                (numbered(self.free.0 as usize, "free chorus"), numbered(self.free.1 as usize, "note"));
            return format!("{choruses} {over}, {notes}");
        }
        let asked = numbered(self.phrases as usize, "phrase");
        let done = if self.varied { "varied" } else { "all right" };
        format!("traded {over}; {asked}, {} answered, {} {done}", self.answered, self.whole)
    }
}

/// The figures of a sitting that is a trade; `None` for a drill.
pub(super) fn traded(session: &Session) -> Option<TradedPhrases> {
    let mark = session.began.trade.clone()?;
    let played = session.traded.iter().filter(|trial| trial.answered() && !trial.contested);
    let broken_off = played.clone().filter(|trial| trial.judgement.is_none()).count();
    let answered = played.filter(|trial| trial.judgement.is_some());
    let whole = answered.clone().filter(|it| it.judgement.as_ref().is_some_and(Judgement::whole_phrase));
    let (answered, whole) = (number(answered.count()), number(whole.count()));
    let broken_off = number(broken_off);
    let choruses = session.choruses.iter().filter(|chorus| !chorus.heard.is_empty());
    let free = (number(choruses.clone().count()), number(choruses.map(|chorus| chorus.heard.len()).sum()));
    let varied = session.phrases().any(|(_, judgement)| judgement.varied.is_some());
    Some(TradedPhrases { mark, phrases: number(session.traded.len()), answered, whole, varied, broken_off, free })
}
