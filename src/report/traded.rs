//! A trade in figures: what was sounded over a chart and what came back, or what was played there freely.

use std::collections::BTreeMap;

use crate::music::{Intonation, instrument};
use crate::report::judged::number;
use crate::session::{Judgement, Session, TradeMark, Trial};
use crate::units::rank;
use crate::verdict::{Finding, UsualTuning, findings, seams};
use crate::words::numbers::numbered;

/// How grave a gap at a seam is: as grave as one note off the pulse (`Finding::gravity`).
const GAP: u32 = 20;

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
    /// Number of those all right whose answer was out of time or tune all the same, or had a gap between two patterns.
    pub faulty: u32,
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
        let but = beside_all_right(self.faulty);
        format!("traded {over}; {asked}, {} answered, {} {done}{but}", self.answered, self.whole)
    }
}

/// What is said after the number of phrases that were all right, of those with another fault; nothing where there is none.
pub(super) fn beside_all_right(faulty: u32) -> String {
    if faulty == 0 { String::new() } else { format!(", {faulty} of these out of time or tune") }
}

/// The figures of a sitting that is a trade; `None` for a drill.
pub(super) fn traded(session: &Session) -> Option<TradedPhrases> {
    let mark = session.began.trade.clone()?;
    let played = session.traded.iter().filter(|trial| trial.answered() && !trial.contested);
    let broken_off = played.clone().filter(|trial| trial.judgement.is_none()).count();
    let answered = played.filter(|trial| trial.judgement.is_some());
    let whole = answered.clone().filter(|it| it.judgement.as_ref().is_some_and(Judgement::whole_phrase));
    let faulty = session.phrases().filter(|(trial, it)| it.whole_phrase() && fault(session, trial, it).is_some());
    let (answered, whole, faulty) = (number(answered.count()), number(whole.count()), number(faulty.count()));
    let broken_off = number(broken_off);
    let choruses = session.choruses.iter().filter(|chorus| !chorus.heard.is_empty());
    let free = (number(choruses.clone().count()), number(choruses.map(|chorus| chorus.heard.len()).sum()));
    let varied = session.phrases().any(|(_, judgement)| judgement.varied.is_some());
    Some(TradedPhrases {
        mark,
        phrases: number(session.traded.len()),
        answered,
        whole,
        faulty,
        varied,
        broken_off,
        free,
    })
}

/// How grave the gravest fault of an answer to a phrase is, by the rules of its sentence; `None` where it has none. Of a variation nothing
/// is asked but its rule.
fn fault(session: &Session, trial: &Trial, judgement: &Judgement) -> Option<u32> {
    if let Some(varied) = judgement.varied {
        return (!varied.passed()).then_some(0);
    }
    let began = &session.began;
    let player = instrument(&began.instrument).map(|instrument| instrument.at(began.level).intonation);
    let asked = trial.expectation(began, player.unwrap_or(Intonation::Unscored), UsualTuning::Unknown)?;
    let found = findings(&judgement.verdict, &asked);
    let gap = || seams(&trial.cue.seam_notes(), &judgement.verdict).iter().any(|seam| seam.stands_out);
    found.iter().find(|it| it.is_fault()).map(Finding::gravity).or_else(|| gap().then_some(GAP))
}

/// What became of the phrases of several trades.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PhraseReview {
    /// The phrases that went wrong, the worst first: those with the smallest share of right notes, then those with the gravest fault; those
    /// that were not played come last.
    pub faults: Vec<PhraseFault>,
    /// Of each chart and each bar of it, counted from 1, on which phrases begin: number of answers without a fault, and of all. Records of
    /// older programs do not know the bar.
    pub places: BTreeMap<(String, u32), (u32, u32)>,
}

/// A phrase in whose answer something went wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhraseFault {
    /// Index of its sitting in the part.
    pub sitting: usize,
    /// Calendar day of the sitting: days since 1970-01-01 in local time.
    pub day: i32,
    /// Number of its chorus in the trade, from 1; `None` in records of older programs.
    pub chorus: Option<u32>,
    /// The sentence that was shown: the bars, their key, and what went wrong.
    pub sentence: String,
}

/// What became of the phrases of these sittings, without those that are contested or were broken off.
pub(super) fn phrases(sessions: &[&Session]) -> PhraseReview {
    let (mut faults, mut places) = (Vec::new(), BTreeMap::<(String, u32), (u32, u32)>::new());
    for (sitting, session) in sessions.iter().enumerate() {
        let Some(mark) = &session.began.trade else { continue };
        for (trial, judgement) in session.phrases() {
            let mut played = session.band.iter().flat_map(|band| band.phrases.iter().map(|it| (band.chorus, it)));
            let place = played.find(|(_, phrase)| phrase.cue == trial.cue.number);
            let fault = fault(session, trial, judgement);
            if let Some((_, phrase)) = place.filter(|_| trial.answered()) {
                let (passed, of) = places.entry((mark.chart.clone(), phrase.first_bar.saturating_add(1))).or_default();
                (*passed, *of) = (*passed + u32::from(fault.is_none()), *of + 1);
            }
            let Some(gravity) = fault else { continue };
            let verdict = &judgement.verdict;
            let share = f64::from(verdict.right_in_key()) / f64::from(verdict.of.max(1));
            let (day, sentence) = (session.began.day, judgement.sentence.clone());
            let fault = PhraseFault { sitting, day, chorus: place.map(|it| it.0), sentence };
            faults.push(((!trial.answered(), rank(share), gravity), fault));
        }
    }
    faults.sort_by_key(|(worst, _)| *worst);
    PhraseReview { faults: faults.into_iter().map(|(_, fault)| fault).collect(), places }
}
