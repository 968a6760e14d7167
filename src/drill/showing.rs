use crate::coach::LearnerModel;
use crate::drill::conductor::Phase;
use crate::drill::open_trial::OpenTrial;
use crate::drill::rounds::Rounds;
use crate::drill::second_tasks::SecondTasks;
use crate::drill::shown::Shown;
use crate::drill::{CueSpan, Drill, Effect, Face, KeyRow, NextKey, Snapshot};
use crate::music::Mode;
use crate::pattern::{Pattern, PatternId};
use crate::units::Seconds;

/// The player's turn, and nothing was heard yet.
const YOURS: Face = Face::YourTurn { heard: false, beats_left: None };

impl Drill {
    /// Shows the state at once when its revision has risen, and once a second for its clock.
    pub(super) fn show(&mut self) {
        let face = self.face();
        let seen = (face, self.key_known());
        if self.shown_face.replace(seen) != Some(seen) {
            self.revision += 1;
        }
        let shows = Shown { revision: self.revision, second: self.now.0.max(0.0) as u64 };
        if self.shown.replace(shows) != Some(shows) {
            let snapshot = self.snapshot_of(face);
            self.effects.push(Effect::Show(Box::new(snapshot)));
        }
    }

    /// What a screen shows now.
    #[must_use]
    pub fn snapshot(&self) -> Snapshot {
        self.snapshot_of(self.face())
    }

    fn face(&self) -> Face {
        match &self.phase {
            Phase::Waiting => Face::Waiting,
            Phase::Gap { stays, .. } if self.rounds.as_ref().is_some_and(Rounds::is_over) => {
                Face::RoundOver { stays: *stays }
            }
            Phase::Gap { stays, .. } if self.judged.is_some() && self.rounds.is_none() => {
                Face::Verdict { settled: true, stays: *stays }
            }
            Phase::Gap { .. } => Face::Listen { beats_left: None },
            Phase::OpenTrial(trial) => self.face_of(trial),
            Phase::Spared(open) => self.face_of_spared(open),
            Phase::BlockBegins { .. } => Face::BlockBegins,
            Phase::HowMany { .. } => Face::HowMany,
            Phase::Paused { cause, until } => Face::Paused { cause: *cause, until: *until },
            Phase::Over => Face::Over,
        }
    }

    fn face_of(&self, trial: &OpenTrial) -> Face {
        let Some(span) = trial.span else { return Face::Listen { beats_left: None } };
        if let (Some(_), Some(due), true) = (trial.cue.warning, span.beat_zero, trial.heard.is_empty()) {
            let beat = trial.cue.tempo.lasting(trial.cue.meter.beat()).0;
            let left = (due.0 - self.now.0) / beat;
            let counting = left > 0.0;
            return if counting { Face::Listen { beats_left: Some(left.ceil() as u32) } } else { YOURS };
        }
        if let Some(rounds) = &self.rounds {
            return self.face_in_round(trial, span, rounds);
        }
        let meter = trial.cue.meter;
        let beat = trial.cue.tempo.lasting(meter.beat()).0;
        let count_in = span.from.0 + f64::from(meter.count()) * beat;
        let beats_until = |instant: f64| ((instant - self.now.0) / beat).ceil().max(1.0) as u32;
        if trial.at_once.is_some() {
            Face::Verdict { settled: trial.silent(), stays: false }
        } else if !trial.heard.is_empty() {
            Face::YourTurn { heard: true, beats_left: None }
        } else if self.now.0 < count_in && trial.cue.counts_in() {
            Face::Listen { beats_left: Some(beats_until(count_in)) }
        } else if self.now.0 < span.end.0 {
            Face::Listen { beats_left: None }
        } else {
            let due = span.beat_zero.filter(|due| self.now.0 < due.0);
            Face::YourTurn { heard: false, beats_left: due.map(|due| beats_until(due.0)) }
        }
    }

    /// The face in a round: no answer is told before the round's end, and the next cue shows while the last note of an answer may still
    /// come.
    fn face_in_round(&self, trial: &OpenTrial, span: CueSpan, rounds: &Rounds) -> Face {
        let beat = trial.cue.tempo.lasting(trial.cue.meter.beat()).0;
        let beats_until = |instant: f64| ((instant - self.now.0) / beat).ceil().max(1.0) as u32;
        let count_in = span.from.0 + f64::from(trial.cue.meter.count()) * beat;
        let heard = !trial.heard.is_empty();
        let due = span.beat_zero.unwrap_or(span.end).0;
        if rounds.sounds(self.now).is_some() {
            Face::Listen { beats_left: None }
        } else if rounds.counts_in(trial.cue.number) && self.now.0 < count_in {
            Face::Listen { beats_left: Some(beats_until(count_in)) }
        } else if self.now.0 < span.end.0 && !heard {
            Face::Listen { beats_left: None }
        } else {
            Face::YourTurn { heard, beats_left: (self.now.0 < due).then(|| beats_until(due)) }
        }
    }

    /// Whether the key of the cue may be shown now. A key that is told late may not be shown before it sounds, or it would be read sooner
    /// than heard.
    fn key_known(&self) -> bool {
        if self.hidden() {
            return false;
        }
        let Phase::OpenTrial(trial) = &self.phase else { return true };
        let Some(warning) = trial.cue.warning else { return true };
        let warned = trial.cue.tempo.lasting(trial.cue.meter.beat() * f64::from(warning));
        let due = trial.span.and_then(|span| span.beat_zero);
        due.is_some_and(|due| self.now.0 >= due.0 - warned.0)
    }

    /// The pattern whose keys are shown: the one that is asked, where it may be shown, else the one judged last, else the first of the
    /// plan; at the end the one that has most answers today.
    fn shown_pattern(&self) -> Option<&PatternId> {
        let patterns = &self.settings.plan.patterns;
        let asked = self.asked.as_ref().filter(|_| !self.hidden()).map(|(cue, _)| &cue.pattern);
        let asked = asked.or(self.judged.as_ref().map(|judged| &judged.cue.pattern)).or(patterns.first());
        if !self.is_over() {
            return asked;
        }
        // `max_by_key` takes the last of equals, here the pattern that was asked last.
        patterns.iter().chain(asked).max_by_key(|pattern| self.answers_today(pattern))
    }

    /// The mode of a pattern of the plan, by which the names of its keys are spelled.
    fn mode(&self, pattern: Option<&PatternId>) -> Mode {
        let known = self.settings.patterns.iter().find(|known| Some(&known.id) == pattern);
        known.map_or(Mode::Major, Pattern::mode)
    }

    fn answers_today(&self, pattern: &PatternId) -> u32 {
        self.rows(&self.learner, pattern).iter().map(|row| row.answers_today).sum()
    }

    /// The names of the other patterns that were answered today.
    fn also(&self, shown: Option<&PatternId>) -> Vec<String> {
        let patterns = self.settings.patterns.iter();
        let others = patterns.filter(|other| Some(&other.id) != shown && self.answers_today(&other.id) > 0);
        others.map(|other| other.name.clone()).collect()
    }

    /// The rows of a pattern's keys, by what `learner` believes of the player.
    fn rows(&self, learner: &LearnerModel, pattern: &PatternId) -> Vec<KeyRow> {
        let mut keys = self.settings.plan.keys.clone();
        keys.sort_by_cached_key(|key| key.place());
        let goals = &self.settings.plan.goals;
        let row = |key| {
            let known = learner.key_stats(pattern, key);
            KeyRow {
                key,
                reflex: known.reflex(self.settings.form),
                reached: known.reached(),
                right: known.latest(),
                answers_today: known.answers_today(),
                holds: learner.holds(pattern, key, goals),
            }
        };
        keys.into_iter().map(row).collect()
    }

    fn snapshot_of(&self, face: Face) -> Snapshot {
        let sounds = self.rounds.as_ref().and_then(|rounds| rounds.sounds(self.now));
        let (cue, reason) = match &self.phase {
            Phase::OpenTrial(trial) if sounds.is_some() => (sounds.cloned(), Some(trial.reason)),
            Phase::OpenTrial(trial) => (Some(trial.cue.clone()), Some(trial.reason)),
            Phase::Spared(open) => (Some(open.cue.clone()), None),
            _ => (self.asked.as_ref().map(|(cue, _)| cue.clone()), self.asked.as_ref().map(|&(_, reason)| reason)),
        };
        let plan = &self.settings.plan;
        let (pattern, over) = (self.shown_pattern(), self.is_over());
        let title = self.settings.patterns.iter().find(|known| Some(&known.id) == pattern);
        let named = self.settings.patterns.iter().map(|pattern| (&pattern.id, pattern.name.as_str()));
        Snapshot {
            revision: self.revision,
            out_of_range: plan.out_of_range.misfits(named),
            at: Seconds(self.now.0.max(0.0)),
            planned: self.settings.planned,
            face,
            cue,
            reason,
            judged: self.judged.clone().map(Box::new),
            key_known: self.key_known(),
            round: self.rounds.as_ref().map(Rounds::summary),
            warned: self.late_keys.as_ref().map(|it| it.warned().shares()).unwrap_or_default(),
            second_task: self.second_tasks.as_ref().map(SecondTasks::shown),
            next: self.next.as_ref().filter(|_| self.late_keys.is_none() && !self.settings.by_ear).map(|choice| {
                NextKey { key: choice.key, mode: self.mode(Some(&choice.pattern)), reason: choice.reason }
            }),
            mode: self.mode(pattern),
            keys: pattern.map(|pattern| self.rows(&self.learner, pattern)).unwrap_or_default(),
            before: pattern.filter(|_| over).map(|pattern| self.rows(&self.before, pattern)).unwrap_or_default(),
            title: if self.hidden() {
                "by ear".to_owned()
            } else {
                title.map(|known| known.name.clone()).unwrap_or_default()
            },
            also: if over { self.also(pattern) } else { Vec::new() },
            all_hold: self.learner.all_hold(plan).map(|how| (how, plan.goals)),
            recurring: if over { self.named.all(&self.page) } else { Vec::new() },
            plays_back: self.plays_back.is_some(),
            trouble: self.trouble,
            sounding: self.rests.total(),
            dropped: self.dropped,
            answers: self.answers,
            calibrated: self.settings.began.delay.is_some(),
            by_midi: self.settings.began.by_midi,
            simulated: self.settings.began.simulated,
            lesson_trial: self.trial_order.is_some(),
        }
    }
}
