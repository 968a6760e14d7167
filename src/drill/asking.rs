use crate::coach::{Choice, Reason};
use crate::cue::{Cue, Timing};
use crate::drill::apart;
use crate::drill::conductor::Phase;
use crate::drill::late_keys::LateKeys;
use crate::drill::open_trial::OpenTrial;
use crate::drill::{CueSpan, Drill, Effect};
use crate::pattern::{self, Register};
use crate::session::{Event, PauseCause};
use crate::units::{Seconds, Tempo};

/// Slowest tempo, however often the player asks for the cue slower; by itself the coach asks nothing slower than `coach::SLOWEST`.
const SLOWEST_AGAIN: Tempo = Tempo(30.0);

impl Drill {
    /// Asks the cue that is still open (it was not answered, or with another line), otherwise the next choice; a trial with no choice
    /// left ends. Where rounds are asked it begins a round instead, and beside a second task it goes on in the blocks.
    pub(super) fn ask_next(&mut self) {
        self.close_with_round();
        if self.rounds.is_some() {
            return self.begin_round();
        }
        if self.second_tasks.is_some() {
            return self.go_on_in_blocks();
        }
        if let Some((cue, reason)) = self.asked.take() {
            self.sound(Cue { repeat: true, ..cue }, reason);
            return;
        }
        self.choose_next();
        let next = self.next.take();
        if let (Some(choice), true) = (&next, self.trial_order.is_some()) {
            self.learner.asked(&self.settings.plan, choice, false);
        }
        match next.and_then(|choice| Some((self.cue(&choice)?, choice.reason))) {
            Some((cue, reason)) => self.sound(cue, reason),
            None if self.trial_order.is_some() => self.end(),
            // Only keys that fit are in the plan, so nothing leads here but a plan without keys.
            None => self.pause(PauseCause::Asked, None),
        }
    }

    /// Settles what comes next where nothing is settled yet: the rest of a line that is taken apart, otherwise the coach's choice. A
    /// trial, keys that are told late and blocks beside a second task follow their own order.
    pub(super) fn choose_next(&mut self) {
        if let Some(order) = &mut self.trial_order {
            self.next = self.next.take().or_else(|| order.next());
        } else if let Some(late_keys) = &mut self.late_keys {
            self.next = self.next.take().or_else(|| late_keys.next());
        } else if self.second_tasks.is_some() {
            // The blocks have an order of their own, settled when each begins.
        } else if self.next.is_none() {
            let (learner, plan) = (&self.learner, &self.settings.plan);
            let left = self.apart.next(|pattern, key| learner.next_tempo(plan, pattern, key));
            self.next = left.or_else(|| self.choose());
        }
    }

    /// The coach's choice. The top third of the range is left out until lips are warm, and again for some minutes once two answers in it
    /// in a row went down in tempo, unless the plan has no other register.
    fn choose(&mut self) -> Option<Choice> {
        let mut plan = self.sitting.plan(self.now, &self.settings.plan);
        if self.high_notes.are_left_out(self.now) && plan.registers.len() > 1 {
            plan.registers.retain(|&register| register != Register::High);
        }
        // The key that the player left does not come next, unless there is no other.
        if let Some(left) = self.left.take() {
            let mut others = plan.clone();
            others.keys.retain(|key| *key != left);
            if let Some(choice) = self.learner.choose(&others, &mut self.rng) {
                return Some(choice);
            }
        }
        self.learner.choose(&plan, &mut self.rng)
    }

    /// The cue of a choice; `None` where the pattern does not fit the range. The plan leaves out such choices.
    pub(super) fn cue(&self, choice: &Choice) -> Option<Cue> {
        let pattern = self.settings.patterns.iter().find(|pattern| pattern.id == choice.pattern)?;
        let line = pattern::realise(pattern, choice.key, None, self.settings.range, choice.register).ok()?;
        let (form, timing, click) = (self.settings.form, self.settings.timing, self.settings.click);
        // Taps are laid between the beats of the answer, so its beats must be known beforehand.
        let timing = if self.settings.second_task { Timing::InTempo } else { timing };
        let by_ear = self.settings.by_ear;
        let warning = self.late_keys.as_ref().and_then(LateKeys::warning);
        let cue = Cue {
            form,
            timing,
            click,
            warning,
            by_ear,
            ..Cue::new(pattern, choice.key, choice.register, choice.tempo, line)
        };
        let cue = cue.with_pickup(pattern.pickup());
        Some(if let Reason::Apart { stage } = choice.reason { apart::part(cue, stage) } else { cue })
    }

    /// Sounds a cue and begins its trial.
    pub(super) fn sound(&mut self, cue: Cue, reason: Reason) {
        self.cues += 1;
        let cue = Cue { number: self.cues, ..cue };
        self.effects.push(Effect::Record(Box::new(Event::Cued { at: self.now, cue: cue.clone(), reason })));
        self.before_answer = None;
        if self.plays_back.take().is_some() {
            self.effects.push(Effect::Hush);
        }
        self.level = self.loudness.step();
        self.effects.push(Effect::Sound { cue: cue.clone(), level: self.level });
        let delay = self.settings.began.delay;
        let (intonation, usual) = (self.settings.instrument.intonation, self.tuned.usual());
        self.phase = Phase::OpenTrial(Box::new(OpenTrial::new(cue.clone(), reason, intonation, delay, usual)));
        self.asked = Some((cue, reason));
    }

    /// Learns where the sound of the cue lies.
    pub(super) fn lay(&mut self, number: u32, span: CueSpan) {
        if let Phase::OpenTrial(trial) = &mut self.phase
            && trial.cue.number == number
        {
            trial.lay(span);
        } else {
            self.lay_in_round(number, span);
        }
    }

    /// Takes in an xrun: times measured from the cue that sounds can no longer be trusted.
    pub(super) fn note_xrun(&mut self) {
        if let Phase::OpenTrial(trial) = &mut self.phase {
            trial.xrun = true;
        }
        if let Some(rounds) = &mut self.rounds {
            rounds.xrun = true;
        }
    }

    /// Breaks off what goes on, so that another cue comes as soon as it is silent; `false` where no cue can be asked.
    fn break_off(&mut self) -> bool {
        match self.phase {
            Phase::Over | Phase::Waiting => return false,
            _ if self.stopped() => return false,
            Phase::OpenTrial(_) => self.effects.push(Effect::Hush),
            Phase::Paused { .. } => self.leave_pause(),
            Phase::Spared(_) => self.close_spared(true),
            Phase::Gap { .. } | Phase::BlockBegins { .. } | Phase::HowMany { .. } => {}
        }
        self.spares.waits_until = Seconds(0.0);
        self.phase = Phase::Gap { from: self.now, stays: false };
        true
    }

    /// Asks the same cue again, at `faster` times its tempo, once all is silent. The player asked for it, so its answer does not count.
    pub(super) fn ask_again(&mut self, faster: f64) {
        let last = self.asked.as_ref().map(|(cue, _)| cue).or(self.judged.as_ref().map(|judged| &judged.cue));
        let Some(cue) = last.cloned() else { return };
        if !self.break_off() {
            return;
        }
        let tempo = Tempo((cue.tempo.0 * faster).max(SLOWEST_AGAIN.0));
        let reason = Reason::Again { slower: faster < 1.0 };
        // The cue is made anew, because eighths swing more at a slower tempo; a part of a line keeps its notes and only changes its
        // tempo.
        let choice = Choice { pattern: cue.pattern.clone(), key: cue.key, register: cue.register, tempo, reason };
        let made = self.cue(&choice).filter(|made| made.line.notes.len() == cue.line.notes.len());
        let cue = Cue { warning: cue.warning, ..made.unwrap_or(Cue { tempo, ..cue.clone() }) };
        self.asked = Some((cue, reason));
    }

    /// Asks a cue in another key than this one, where the plan has one; a line that is taken apart is left.
    pub(super) fn another(&mut self) {
        if !self.break_off() {
            return;
        }
        self.apart.leave();
        let left = self.asked.as_ref().map(|(cue, _)| cue.key).or(self.judged.as_ref().map(|judged| judged.cue.key));
        self.next = self.next.take().filter(|next| !next.reason.uncounted() && Some(next.key) != left);
        self.left = left;
        self.asked = None;
        self.unanswered = 0;
    }
}
