use crate::coach::{Choice, Plan, RoundOrder, SittingPhase};
use crate::cue::Cue;
use crate::drill::conductor::Phase;
use crate::drill::open_trial::OpenTrial;
use crate::drill::rounds::{Rounds, closes};
use crate::drill::{CueSpan, Drill, Effect};
use crate::session::{Event, PauseCause};
use crate::units::{Seconds, Tempo};
use crate::verdict;

/// How long the result of a round stands at least: the time for any result, the time more for each answer that was not right, and the
/// largest number of such answers for which more time is given.
const TOLD: (Seconds, Seconds, u32) = (Seconds(3.0), Seconds(1.5), 4);

impl Drill {
    /// Turns to rounds, of what goes well, in the last minutes of a day, once no cue is left open.
    pub(super) fn close_with_round(&mut self) {
        let closing = self.sitting.phase(self.now) == SittingPhase::Closing;
        if self.settings.closing_round && closing && self.rounds.is_none() && self.asked.is_none() {
            self.rounds = Some(Rounds::new(RoundOrder::Fourths));
            self.apart.leave();
            self.next = None;
        }
    }

    /// The plan of a round. At the end of a day it has one pattern that goes well, at the tempo of its slowest key.
    fn of_round(&mut self) -> Plan {
        let plan = self.settings.plan.clone();
        let now = self.sitting.plan(self.now, &plan);
        let closing = self.settings.closing_round.then(|| self.learner.choose(&now, &mut self.rng)).flatten();
        let Some(Choice { pattern, .. }) = closing else { return plan };
        let keys = plan.keys_of(&pattern).into_iter();
        let slowest = keys.map(|key| self.learner.next_tempo(&plan, &pattern, key).0).fold(f64::INFINITY, f64::min);
        let first_tempo = if slowest.is_finite() { Tempo(slowest) } else { plan.first_tempo };
        Plan { patterns: vec![pattern], first_tempo, registers: now.registers, ..plan }
    }

    /// Keeps only as many cues as there is time for, where a round closes a day.
    fn in_time(&self, cues: &mut Vec<(Cue, Choice)>) {
        let Some(end) = self.settings.planned.filter(|_| self.settings.closing_round) else { return };
        let Some((cue, _)) = cues.first() else { return };
        // Time is needed for each cue and its answer, for the count-in, and for what is told after the round.
        let bars = cue.meter.whole_bars(cue.line.length);
        let (one, counted) = (cue.tempo.lasting(bars) * 2.0, cue.tempo.lasting(cue.meter.bar()));
        let many = ((end - self.now - counted - TOLD.0).0 / one.0).floor().max(0.0);
        cues.truncate(many as usize);
    }

    /// Begins a round, or the rest of a round that was broken off: all its cues sound without a stop. Where there is no cue to ask, the
    /// sitting of a day ends, and any other pauses.
    pub(super) fn begin_round(&mut self) {
        let Some(mut rounds) = self.rounds.take() else { return };
        let plan = self.of_round();
        let choices = rounds.begin(&plan, &mut self.rng);
        let (number, before) = (Some(rounds.number()), self.cues);
        let made = choices.into_iter().filter_map(|choice| Some((self.cue(&choice)?, choice)));
        let numbered = made.zip(before + 1..);
        let mut cues: Vec<(Cue, Choice)> =
            numbered.map(|((cue, choice), n)| (Cue { number: n, round: number, click: true, ..cue }, choice)).collect();
        self.in_time(&mut cues);
        let sounded: Vec<Cue> = cues.iter().map(|(cue, _)| cue.clone()).collect();
        rounds.lay_out(cues);
        self.rounds = Some(rounds);
        self.asked = None;
        self.before_answer = None;
        if sounded.is_empty() && self.settings.closing_round {
            return self.end();
        }
        if sounded.is_empty() {
            return self.pause(PauseCause::Asked, None);
        }
        self.level = self.loudness.step();
        self.effects.push(Effect::SoundRound { cues: sounded, level: self.level, vamp: self.settings.vamp });
        self.next_of_round();
    }

    /// Opens the trial of the next cue whose sound runs; after the last one the round is summed up.
    fn next_of_round(&mut self) {
        let Some(rounds) = &mut self.rounds else { return };
        let xrun = rounds.xrun;
        let Some((cue, choice, span)) = rounds.next() else { return self.end_round() };
        self.cues = cue.number;
        self.learner.asked(&self.settings.plan, &choice, false);
        let at = span.map_or(self.now, |span| span.from);
        self.effects.push(Effect::Record(Box::new(Event::Cued { at, cue: cue.clone(), reason: choice.reason })));
        let (intonation, delay) = (self.settings.instrument.intonation, self.settings.began.delay);
        let mut trial = OpenTrial::new(cue.clone(), choice.reason, intonation, delay, self.tuned.usual());
        trial.xrun = xrun;
        if let Some(span) = span {
            trial.lay(span);
        }
        self.phase = Phase::OpenTrial(Box::new(trial));
        self.asked = Some((cue, choice.reason));
    }

    /// Learns where the sound of a cue of the round lies.
    pub(super) fn lay_in_round(&mut self, number: u32, span: CueSpan) {
        if let Some(rounds) = &mut self.rounds {
            rounds.lay(number, span);
        }
    }

    /// Whether, in a round, the bars of this answer are over, and with them the grace for its last note.
    pub(super) fn bars_are_over(&self, trial: &OpenTrial) -> bool {
        let (cue, due) = (&trial.cue, trial.span.and_then(|span| span.beat_zero));
        let bars = cue.tempo.lasting(cue.meter.whole_bars(cue.line.length));
        self.rounds.is_some() && due.is_some_and(|due| self.now.0 >= closes(due + bars, cue.tempo).0)
    }

    /// Judges an answer whose bars are over and writes it down; nothing of it is shown before the end of the round.
    pub(super) fn close_in_round(&mut self) {
        let over = Phase::Gap { from: self.now, stays: false };
        let Phase::OpenTrial(trial) = std::mem::replace(&mut self.phase, over) else { return };
        let cue = trial.cue.clone();
        self.asked = None;
        if trial.heard.is_empty() {
            self.record_answer(&trial);
        } else {
            self.close_answered(*trial);
        }
        let judged = self.judged.as_ref().filter(|judged| judged.cue.number == cue.number);
        let delay = self.settings.began.delay;
        let right = judged.is_some_and(|it| verdict::right_in_time(&it.verdict, cue.tempo, delay));
        let headline = judged.map(|judged| judged.headline.clone());
        if let Some(rounds) = &mut self.rounds {
            rounds.enter(&cue, right, headline);
        }
        self.next_of_round();
    }

    /// Shows how the round came out; the next one begins with what was not right. Where nobody played, the drill waits.
    fn end_round(&mut self) {
        let Some(rounds) = &self.rounds else { return };
        let round = rounds.summary();
        self.xruns.enter(rounds.xrun);
        self.asked = None;
        if round.answers.iter().all(|answer| answer.headline.is_none()) {
            return self.pause(PauseCause::Silence, None);
        }
        self.held_steering.quiet_since = self.now;
        let missed = round.answers.iter().filter(|answer| !answer.right).count() as u32;
        self.sign_round(round.answers.len() - missed as usize, round.answers.len());
        let stands = TOLD.0 + TOLD.1 * f64::from(missed.min(TOLD.2));
        let from = self.rests.earliest(self.now + stands, Seconds(0.0));
        self.phase = Phase::Gap { from, stays: false };
    }
}
