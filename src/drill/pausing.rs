use crate::cue::SoundSign;
use crate::drill::conductor::Phase;
use crate::drill::{Drill, Effect};
use crate::notes::HELD_NOTE;
use crate::session::{Event, PauseCause};
use crate::units::Seconds;
use crate::words::SoundFault;

impl Drill {
    /// Pauses; an unfinished answer is given up, and its cue comes again (beside a second task, the whole block).
    pub(super) fn pause(&mut self, cause: PauseCause, until: Option<Seconds>) {
        if matches!(self.phase, Phase::Over | Phase::Waiting) {
            return;
        }
        self.break_block_off();
        self.close_spared(true);
        if let Phase::OpenTrial(trial) = &self.phase {
            self.effects.push(Effect::Hush);
            if let Some(rounds) = &mut self.rounds {
                rounds.break_off(&trial.cue, trial.reason);
            }
        }
        self.plays_back = None;
        self.effects.push(Effect::Record(Box::new(Event::Paused { at: self.now, cause })));
        self.phase = Phase::Paused { cause, until };
        match cause {
            PauseCause::Rest => self.sign(&[SoundSign::Rests]),
            _ if self.trouble.is_some_and(SoundFault::unheard) => self.sign_unheard(),
            _ => self.sign(&[SoundSign::Waits]),
        }
        self.sounding.clear();
        if self.second_tasks.is_some() {
            // A block begins anew; no cue of it comes alone.
            self.asked = None;
        }
    }

    /// Goes on: an unfinished cue, or block beside a second task, comes again.
    pub(super) fn resume(&mut self) {
        if !matches!(self.phase, Phase::Paused { .. }) || self.stopped() {
            return;
        }
        self.leave_pause();
        self.unanswered = 0;
        self.sign(&[SoundSign::GoesOn]);
        self.phase = Phase::Gap { from: self.signs_until.max(self.now), stays: false };
    }

    /// Writes down the end of a pause, if there is one, whatever comes next.
    pub(super) fn leave_pause(&mut self) {
        if matches!(self.phase, Phase::Paused { .. }) {
            self.effects.push(Effect::Record(Box::new(Event::Resumed { at: self.now })));
        }
    }

    /// Whether nothing can be asked because the sound has failed.
    pub(super) fn stopped(&self) -> bool {
        self.trouble.is_some_and(SoundFault::stops)
    }

    /// Plays the cue and the player's own answer one after the other, from a verdict or a pause; the verdict stands meanwhile.
    pub(super) fn play_back(&mut self) {
        let (Phase::Gap { .. } | Phase::Paused { .. }, false) = (&self.phase, self.stopped()) else { return };
        let Some(judged) = &self.judged else { return };
        self.effects.push(Effect::PlayBack { cue: judged.cue.number });
        self.plays_back = Some(self.now + self.lasted);
        self.linger(self.lasted);
    }

    /// Goes on when a note is held for `HELD_NOTE`, from a pause that the player asked for or that silence began.
    pub(super) fn resume_by_note(&mut self) {
        // While cue and answer are played back, the microphone may hear them from the loudspeaker.
        let (Phase::Paused { cause: PauseCause::Asked | PauseCause::Silence, .. }, None) =
            (&self.phase, self.plays_back)
        else {
            return;
        };
        let held = |&(number, onset): &(u32, Seconds)| {
            self.now.0 - onset.0 >= HELD_NOTE.0 && !self.held_steering.has_steered(number)
        };
        if self.sounding.iter().any(held) {
            self.held_steering.go_on();
            self.resume();
        }
    }

    /// `space`: keeps a verdict on the screen or lets it go, goes on from a pause, pauses otherwise.
    pub(super) fn toggle(&mut self) {
        match &mut self.phase {
            Phase::Gap { stays, .. } if self.judged.is_some() => *stays = !*stays,
            Phase::Gap { .. } | Phase::OpenTrial(_) | Phase::Spared(_) => self.pause(PauseCause::Asked, None),
            Phase::BlockBegins { .. } | Phase::HowMany { .. } => {
                self.pause(PauseCause::Asked, None);
            }
            Phase::Paused { .. } => self.resume(),
            Phase::Waiting | Phase::Over => {}
        }
    }

    /// Takes in that the sound went wrong or is right again: a fault that stops the drill pauses it, and it goes on by itself once that
    /// fault is over.
    pub(super) fn set_trouble(&mut self, trouble: Option<SoundFault>) {
        self.trouble = trouble;
        if self.stopped() {
            self.settle();
        }
        match self.phase {
            Phase::Paused { cause: PauseCause::Device, .. } if !self.stopped() => self.resume(),
            Phase::Gap { .. }
            | Phase::OpenTrial(_)
            | Phase::Spared(_)
            | Phase::BlockBegins { .. }
            | Phase::HowMany { .. }
                if self.stopped() =>
            {
                self.pause(PauseCause::Device, None);
            }
            _ => {}
        }
    }
}
