use crate::cue::{SoundSign, signs_last};
use crate::drill::conductor::Phase;
use crate::drill::held_steering::HeldSteering;
use crate::drill::{Drill, Effect};
use crate::session::PauseCause;
use crate::units::{Midi, Seconds};
use crate::verdict::{self, Expectation, OutOfTime, PlayedLabel, TempoStep, Verdict};

/// Time for which a note must be held to steer; after each further such time it does the next thing.
const STEERS: Seconds = Seconds(3.0);
/// While an answer is due, the steering note must also last so many times the longest note that is asked, before its first step.
const LONGER: f64 = 2.0;
/// While an answer is due, the steering note must lie at least so far below every note that is asked, in half steps.
const BELOW: f64 = 0.7;
/// Length of a rest that a held note asks for.
const REST: Seconds = Seconds(60.0);

impl Drill {
    /// Sounds signs, where the drill goes by ear and the sound has not failed.
    pub(super) fn sign(&mut self, signs: &[SoundSign]) {
        if self.settings.by_ear && !signs.is_empty() && !self.stopped() {
            self.effects.push(Effect::Signs { signs: signs.to_vec(), level: self.level });
            self.signs_until = self.now + signs_last(signs);
        }
    }

    /// Sounds, where the drill goes by ear, that it waits because the player is not heard; the loudspeaker is sound then.
    pub(super) fn sign_unheard(&mut self) {
        if self.settings.by_ear {
            let signs = vec![SoundSign::Unheard];
            self.signs_until = self.now + signs_last(&signs);
            self.effects.push(Effect::Signs { signs, level: self.level });
        }
    }

    /// Sounds what an answer does to the tempo (`rises`: its key is asked faster from now on); where the answer was not in time, a sign
    /// says first in which way. Of an answer that was another line its own sign sounds; where nothing was heard, none.
    pub(super) fn sign_verdict(
        &mut self,
        verdict: &Verdict,
        asked: &Expectation,
        step: Option<TempoStep>,
        rises: bool,
    ) {
        let time = verdict::out_of_time(&verdict::findings(verdict, asked), asked).map(|time| match time {
            OutOfTime::Early => SoundSign::Early,
            OutOfTime::Late => SoundSign::Late,
            OutOfTime::Uneven => SoundSign::Uneven,
        });
        let step = step.map(|step| match step {
            TempoStep::Up if rises => SoundSign::Up,
            TempoStep::Up => SoundSign::Passed,
            TempoStep::Stay => SoundSign::Stay,
            TempoStep::Down => SoundSign::Down,
        });
        let signs: Vec<SoundSign> = time.into_iter().chain(step).collect();
        match step {
            Some(_) => self.sign(&signs),
            None if verdict.played.iter().any(|it| *it != PlayedLabel::Artefact) => {
                self.sign(&[SoundSign::AnotherLine])
            }
            None => {}
        }
    }

    /// Sounds how a round came out: all of it right, some, or nothing.
    pub(super) fn sign_round(&mut self, right: usize, of: usize) {
        let sign = match right {
            _ if right == of => SoundSign::Passed,
            0 => SoundSign::Down,
            _ => SoundSign::Stay,
        };
        self.sign(&[sign]);
    }

    /// By ear, a note that can be no answer steers: held for three seconds it pauses the drill (in a pause it does nothing), for three
    /// more it begins a rest of a minute, for three more it ends the sitting. A note can be no answer where it begins between an
    /// answer and the next cue or in a pause, or while an answer is due where it is lower than every note asked; there its first step
    /// takes at least twice the longest note asked. No note steers while a round sounds, while a block begins or its number is asked, in a
    /// turn that is sung or fingered, or while cue and answer are played back.
    pub(super) fn steer_by_note(&mut self) {
        let Some(note) = self.held_steering.steering() else { return };
        let HeldSteering { done, quiet_since, .. } = self.held_steering;
        if !self.settings.by_ear || self.plays_back.is_some() {
            return;
        }
        let first = match &self.phase {
            Phase::Gap { .. } | Phase::Paused { .. } if note.onset >= quiet_since => STEERS,
            Phase::OpenTrial(trial) if self.rounds.is_none() && below(note.pitch, &trial.cue.line) => {
                let notes = trial.cue.line.notes.iter();
                let longest = notes.map(|note| trial.cue.tempo.lasting(note.length)).fold(Seconds(0.0), Seconds::max);
                STEERS.max(longest * LONGER)
            }
            _ => return,
        };
        let held = self.now - note.onset;
        if held < first + STEERS * f64::from(done) {
            return;
        }
        self.held_steering.done += 1;
        match done {
            0 if matches!(self.phase, Phase::Paused { .. }) => {}
            0 => self.pause(PauseCause::Asked, None),
            1 => {
                self.leave_pause();
                self.pause(PauseCause::Rest, Some(self.now + REST));
            }
            _ => self.end(),
        }
    }

    /// Whether the screen must hide the key and pattern of what is asked now, because the drill goes by ear.
    pub(super) fn hidden(&self) -> bool {
        let unanswered = match &self.phase {
            Phase::OpenTrial(trial) => trial.at_once.is_none() || self.rounds.is_some(),
            Phase::Over => false,
            Phase::Waiting | Phase::Gap { .. } | Phase::Paused { .. } => self.asked.is_some(),
            Phase::Spared(_) => true,
            Phase::BlockBegins { .. } | Phase::HowMany { .. } => false,
        };
        self.settings.by_ear && unanswered
    }
}

fn below(pitch: Midi, line: &crate::pattern::Line) -> bool {
    line.notes.iter().all(|note| pitch.0 < note.pitch.midi().0 - BELOW)
}
