use crate::coach::SparedTurn;
use crate::cue::{Cue, SoundSign, Timing, answer_time};
use crate::drill::conductor::Phase;
use crate::drill::open_spared::OpenSpared;
use crate::drill::{Drill, Effect, Face, SparedPart};
use crate::session::{Event, PauseCause, SparedRecord};
use crate::units::Seconds;

/// What is to be done in a spared turn stands so long before its cue sounds: the first of a sitting, whose use is said too, and the others.
const TOLD: (Seconds, Seconds) = (Seconds(6.0), Seconds(2.0));
/// By ear, the cue of a spared turn waits so long after the sign of the turn.
const AFTER_SIGN: Seconds = Seconds(0.6);
/// Time from the order to sound a cue until it is heard, at most, and time that is given beyond the length of the answer.
const GRACE: Seconds = Seconds(0.8);
/// No spared turn begins where the planned sitting ends sooner after it than this.
const NEAR_THE_END: Seconds = Seconds(20.0);

impl Drill {
    /// Whether a spared turn fits into the wait from `shown` to `from`, which lips and voice need; the wait is remembered then.
    pub(super) fn may_fill(&mut self, shown: Seconds, from: Seconds) -> bool {
        let due = self.spares.turns.due(true, |_| false);
        let fills = due.is_some_and(|(_, cue, first)| shown + told(first) + answer_time(cue).1 + GRACE <= from);
        self.spares.waits_until = if fills { from } else { Seconds(0.0) };
        fills
    }

    /// Fills the time before the next cue: with a spared turn where one is due, else with the rest of the wait. Gives whether it did.
    pub(super) fn filled(&mut self) -> bool {
        let waits = Some(self.spares.waits_until).filter(|until| *until > self.now);
        if self.begin_spared(waits, false) {
            return true;
        }
        self.spares.waits_until = Seconds(0.0);
        waits.inspect(|until| self.phase = Phase::Gap { from: *until, stays: false }).is_some()
    }

    /// Rests until `until`; where a spared turn is due, the rest begins with it.
    pub(super) fn rest(&mut self, until: Seconds) {
        if !self.begin_spared(Some(until), true) {
            self.pause(PauseCause::Rest, Some(until));
        }
    }

    /// Begins a spared turn, where one is due and nothing else goes on; gives whether it did. `then` is when the wait is over in whose place
    /// the turn comes, if it comes in the place of one; `rests` says that this is a planned rest.
    pub(super) fn begin_spared(&mut self, then: Option<Seconds>, rests: bool) -> bool {
        let plain = self.rounds.is_none() && self.second_tasks.is_none() && self.late_keys.is_none();
        let plain = plain && self.trial_order.is_none() && self.settings.began.lesson.is_none();
        let apart = self.next.as_ref().is_some_and(|next| next.reason.uncounted());
        if !plain || apart || self.asked.is_some() || self.stopped() {
            return false;
        }
        let next = self.next.as_ref().map(|next| next.key);
        let Some((turn, cue, first)) = self.spares.turns.due(then.is_some(), |cue| Some(cue.key) == next) else {
            return false;
        };
        let click = cue.timing == Timing::InTempo;
        let cue = Cue { number: 0, click, repeat: false, ..cue.clone() };
        let (due, over) = answer_time(&cue);
        let sounds = self.now + told(first);
        let until = sounds + over + GRACE;
        if self.settings.planned.is_some_and(|end| until + NEAR_THE_END > end) {
            return false;
        }
        self.spares.turns.offered();
        self.spares.waits_until = Seconds(0.0);
        self.sign(&[match turn {
            SparedTurn::Sing => SoundSign::Sing,
            SparedTurn::Finger => SoundSign::Finger,
        }]);
        let sounds = sounds.max(self.signs_until + AFTER_SIGN);
        let (due, until, then) = (sounds + due, sounds + over + GRACE, then.unwrap_or(self.now));
        let open = OpenSpared { turn, cue, first, sounds, due, until, sounded: false, then, rests };
        self.phase = Phase::Spared(Box::new(open));
        true
    }

    /// Sounds the cue of the spared turn once what is to be done has stood, and ends the turn once the time of its answer is over.
    pub(super) fn go_on_spared(&mut self) {
        let Phase::Spared(open) = &mut self.phase else { return };
        if self.now >= open.until {
            self.leave_spared(false);
        } else if self.now >= open.sounds && !open.sounded {
            open.sounded = true;
            self.effects.push(Effect::Spared { cue: open.cue.clone(), level: self.level });
        }
    }

    /// Ends the spared turn; the rest that it came in place of goes on. `left` says that the player broke it off.
    pub(super) fn leave_spared(&mut self, left: bool) {
        let Phase::Spared(open) = &self.phase else { return };
        let (then, rests) = (open.then, open.rests);
        self.close_spared(left);
        if rests && then > self.now {
            self.pause(PauseCause::Rest, Some(then));
        }
    }

    /// Closes the spared turn, if there is one, and writes it down, whatever comes next.
    pub(super) fn close_spared(&mut self, left: bool) {
        let Phase::Spared(open) = &self.phase else { return };
        let OpenSpared { turn, cue, then, .. } = open.as_ref().clone();
        if left {
            self.effects.push(Effect::Hush);
        }
        let record = SparedRecord { at: self.now, turn, pattern: cue.pattern, key: cue.key, left };
        self.effects.push(Effect::Record(Box::new(Event::Spared(record))));
        self.held_steering.quiet_since = self.now;
        self.phase = Phase::Gap { from: then.max(self.now), stays: false };
    }

    /// The face of the spared turn.
    pub(super) fn face_of_spared(&self, open: &OpenSpared) -> Face {
        let part = match self.now {
            now if now < open.sounds => SparedPart::Told,
            now if now < open.due => SparedPart::Listen,
            _ => SparedPart::Yours,
        };
        Face::Spared { turn: open.turn, part, first: open.first }
    }
}

/// How long it stands what is to be done, before the cue.
const fn told(first: bool) -> Seconds {
    if first { TOLD.0 } else { TOLD.1 }
}
