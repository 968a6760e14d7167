use std::collections::VecDeque;

use crate::coach::{Choice, Plan, Reason, Rng, RoundOrder};
use crate::cue::Cue;
use crate::drill::CueSpan;
use crate::drill::snapshot::{RoundAnswer, RoundSummary};
use crate::music::ConcertKey;
use crate::pattern::{PatternId, Register};
use crate::units::{Seconds, Tempo};

/// A last note may come this long after the bars of its answer: so much of a quarter note, but at most so many seconds.
const GRACE: (f64, Seconds) = (0.5, Seconds(0.4));

/// Rounds through the keys without a stop: the cues that are to come, and how the answers came out.
#[derive(Debug, Clone)]
pub(super) struct Rounds {
    order: RoundOrder,
    /// Number of rounds begun, which is the number of this one.
    number: u32,
    /// What is left of a round that was broken off.
    left: VecDeque<Choice>,
    /// Cues still to come in the sound that runs, each with its place in time once that is known.
    laid: VecDeque<(Cue, Choice, Option<CueSpan>)>,
    /// Number of the first cue in the sound that runs.
    first: Option<u32>,
    /// What became of the cues of this round so far, in order.
    answered: Vec<RoundAnswer>,
    /// What was not right in this round; it comes first in the next.
    failed: Vec<(PatternId, ConcertKey)>,
    /// Whether a stream had an xrun since this round began, or since it went on after it was broken off.
    pub xrun: bool,
}

impl Rounds {
    /// No round begun yet; the keys of each round come in this order.
    pub fn new(order: RoundOrder) -> Self {
        let (left, laid) = (VecDeque::new(), VecDeque::new());
        Self { order, number: 0, left, laid, first: None, answered: Vec::new(), failed: Vec::new(), xrun: false }
    }

    /// What is to be asked now, up to the end of the round: the rest of a round that was broken off, else a new round. A new round asks
    /// what was not right in the last one, then every key once; patterns come in turn, and in the next round each key has the next
    /// pattern that fits the player's range there.
    pub fn begin(&mut self, plan: &Plan, rng: &mut Rng) -> Vec<Choice> {
        self.xrun = false;
        if self.left.is_empty() {
            self.left = self.drawn(plan, rng);
            self.number += 1;
            (self.answered, self.failed) = (Vec::new(), Vec::new());
        }
        self.left.drain(..).collect()
    }

    fn drawn(&self, plan: &Plan, rng: &mut Rng) -> VecDeque<Choice> {
        // The register changes from round to round, among those of the plan.
        let turn = [Register::Middle, Register::Low, Register::Middle, Register::High][self.number as usize % 4];
        let register = Some(turn).filter(|it| plan.registers.contains(it)).or_else(|| plan.one_register());
        let register = register.unwrap_or(Register::Middle);
        let (tempo, reason) = (plan.first_tempo, Reason::Turn);
        let in_turn = |(n, key): (usize, ConcertKey)| {
            let place = (n + self.number as usize) % plan.patterns.len().max(1);
            let patterns = plan.patterns.iter().cycle().skip(place).take(plan.patterns.len());
            let fits = |pattern: &&PatternId| !plan.out_of_range.contains(pattern, key);
            patterns.into_iter().find(fits).map(|pattern| (pattern.clone(), key))
        };
        let keys = self.order.keys(&plan.keys, rng);
        let asked = self.failed.iter().cloned().chain(keys.into_iter().enumerate().filter_map(in_turn));
        asked.map(|(pattern, key)| Choice { pattern, key, register, tempo, reason }).collect()
    }

    /// Takes in the cues of the sound that runs from now on.
    pub fn lay_out(&mut self, cues: impl IntoIterator<Item = (Cue, Choice)>) {
        self.laid = cues.into_iter().map(|(cue, choice)| (cue, choice, None)).collect();
        self.first = self.laid.front().map(|(cue, ..)| cue.number);
    }

    /// Learns where the cue of this number lies.
    pub fn lay(&mut self, number: u32, span: CueSpan) {
        if let Some((.., place)) = self.laid.iter_mut().find(|(cue, ..)| cue.number == number) {
            *place = Some(span);
        }
    }

    /// Takes out the next cue of the sound that runs.
    pub fn next(&mut self) -> Option<(Cue, Choice, Option<CueSpan>)> {
        self.laid.pop_front()
    }

    /// The next cue once its own sound has begun; it is not taken out.
    pub fn sounds(&self, now: Seconds) -> Option<&Cue> {
        let (cue, _, span) = self.laid.front()?;
        span.filter(|span| now.0 >= span.from.0).map(|_| cue)
    }

    /// Breaks the sound off at this cue, which is asked again with the rest of the round when that goes on.
    pub fn break_off(&mut self, cue: &Cue, reason: Reason) {
        let (pattern, key, register, tempo) = (cue.pattern.clone(), cue.key, cue.register, cue.tempo);
        let this = Choice { pattern, key, register, tempo, reason };
        let rest: Vec<Choice> = [this].into_iter().chain(self.laid.drain(..).map(|(_, choice, _)| choice)).collect();
        rest.into_iter().rev().for_each(|choice| self.left.push_front(choice));
    }

    /// Enters the answer to a cue; `headline` is `None` where nothing came.
    pub fn enter(&mut self, cue: &Cue, right: bool, headline: Option<String>) {
        let (key, mode, title) = (cue.key, cue.spelling.mode, cue.title.clone());
        self.answered.push(RoundAnswer { key, mode, title, right, headline });
        if !right {
            self.failed.push((cue.pattern.clone(), cue.key));
        }
    }

    /// What is shown at the end of a round.
    pub fn summary(&self) -> RoundSummary {
        RoundSummary { number: self.number, answers: self.answered.clone() }
    }

    /// Whether no cue of the round is left and at least one has come to its end, answered or not.
    pub fn is_over(&self) -> bool {
        self.left.is_empty() && self.laid.is_empty() && !self.answered.is_empty()
    }

    /// Whether a bar is counted in before this cue, as it is before the first of the sound that runs.
    pub fn counts_in(&self, number: u32) -> bool {
        self.first == Some(number)
    }

    /// The number of this round.
    pub fn number(&self) -> u32 {
        self.number
    }
}

/// The instant at which an answer whose bars end at `until` is taken to be over.
pub(super) fn closes(until: Seconds, tempo: Tempo) -> Seconds {
    until + Seconds(GRACE.0 * tempo.beat().0).min(GRACE.1)
}
