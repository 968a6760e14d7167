use crate::drill::before_answer::Before;
use crate::drill::conductor::Phase;
use crate::drill::{Drill, Effect};
use crate::session::Event;
use crate::units::Seconds;

impl Drill {
    /// Keeps the present state, before the drill learns from the answer to this cue.
    pub(super) fn keep_before(&mut self, cue: u32) {
        self.before_answer = Some(Box::new(Before {
            cue,
            learner: self.learner.clone(),
            named: self.named.clone(),
            apart: self.apart.clone(),
            answers: self.answers,
            high_notes: self.high_notes,
            next: self.next.clone(),
            late_keys: self.late_keys.clone(),
            divided: self.second_tasks.as_ref().map(|it| it.divided.clone()),
        }));
    }

    /// Takes in that the player says the answer whose verdict stands was misheard: it is taken out of what the coach knows and
    /// stays in the record.
    pub(super) fn contest(&mut self) {
        if !matches!(self.phase, Phase::Gap { .. } | Phase::Paused { .. }) {
            return;
        }
        let (Some(before), Some(judged)) = (self.before_answer.take(), &mut self.judged) else { return };
        judged.contested = true;
        (judged.moved, judged.recurring) = (None, None);
        self.effects.push(Effect::Record(Box::new(Event::Contested { at: self.now, cue: before.cue })));
        (self.learner, self.named, self.apart) = (before.learner, before.named, before.apart);
        (self.answers, self.high_notes) = (before.answers, before.high_notes);
        if let (Some(tasks), Some(mut divided)) = (&mut self.second_tasks, before.divided) {
            divided.counts = tasks.divided.counts;
            tasks.divided = divided;
        }
        // What was drawn by lot to come next stays.
        if let (Some(late_keys), Some(before)) = (&mut self.late_keys, &before.late_keys) {
            late_keys.take_out(before);
        } else if self.trial_order.is_none() {
            self.next = before.next;
        }
        self.choose_next();
        self.linger(Seconds(0.0));
    }
}
