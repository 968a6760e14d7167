use crate::coach::Reason;
use crate::drill::conductor::Phase;
use crate::drill::turn::Turn;
use crate::drill::{Drill, Effect, Face, KeyRow, Snapshot};
use crate::pattern::{self, Family};
use crate::units::Seconds;

impl Drill {
    /// Shows the screen anew when something on it has changed.
    pub(super) fn show(&mut self) {
        let face = self.face();
        // Once a second the clock on the screen moves; faces change at once. A verdict re-graded meanwhile also shows.
        let stamp =
            self.now.0.max(0.0) as u64 * 1000 + self.judged.as_ref().map_or(0, |judged| judged.heard.len() as u64);
        if self.shown == Some((face, stamp)) {
            return;
        }
        self.shown = Some((face, stamp));
        let snapshot = self.snapshot(face);
        self.effects.push(Effect::Show(Box::new(snapshot)));
    }

    fn face(&self) -> Face {
        match &self.phase {
            Phase::Waiting => Face::Waiting,
            Phase::Gap { held, .. } if self.judged.is_some() => Face::Verdict { settled: true, held: *held },
            Phase::Gap { .. } => Face::Listen { beats_left: None },
            Phase::Turn(turn) => self.face_of(turn),
            Phase::Paused { cause, until } => Face::Paused { cause: *cause, until: *until },
            Phase::Over => Face::Over,
        }
    }

    fn face_of(&self, turn: &Turn) -> Face {
        let Some(laid) = turn.laid else { return Face::Listen { beats_left: None } };
        let beat = turn.cue.tempo.beat().0;
        let count_in = laid.from.0 + crate::cue::BAR * beat;
        if turn.early.is_some() {
            Face::Verdict { settled: turn.silent(), held: false }
        } else if !turn.heard.is_empty() {
            Face::YourTurn { heard: true }
        } else if self.now.0 < count_in && turn.cue.counts_in() {
            Face::Listen { beats_left: Some(((count_in - self.now.0) / beat).ceil().max(1.0) as u32) }
        } else if self.now.0 < laid.end.0 {
            Face::Listen { beats_left: None }
        } else {
            Face::YourTurn { heard: false }
        }
    }

    /// The strip of the keys, for the pattern that is asked.
    pub(super) fn rows(&self) -> Vec<KeyRow> {
        let pattern =
            self.asked.as_ref().map(|(cue, _)| &cue.pattern).or(self.judged.as_ref().map(|judged| &judged.cue.pattern));
        let Some(pattern) = pattern.or(self.settings.plan.patterns.first()) else { return Vec::new() };
        let mut keys = self.settings.plan.keys.clone();
        keys.sort_by_key(|key| key.place());
        let goals = &self.settings.plan.goals;
        let row = |key| {
            let known = self.beliefs.row(pattern, key);
            KeyRow {
                key,
                reflex: known.reflex(self.settings.form),
                reached: known.reached(),
                right: known.latest(),
                answers_today: known.answers_today(),
                holds: self.beliefs.holds(pattern, key, goals),
            }
        };
        keys.into_iter().map(row).collect()
    }

    fn snapshot(&self, face: Face) -> Snapshot {
        let (cue, reason) = match &self.phase {
            Phase::Turn(turn) => (Some(turn.cue.clone()), Some(turn.reason)),
            _ => (self.asked.as_ref().map(|(cue, _)| cue.clone()), self.asked.as_ref().map(|&(_, reason)| reason)),
        };
        // A phrase is met with its parts named; after that the ear finds them.
        let meets = matches!(reason, Some(Reason::Meeting { .. }));
        let met = cue.as_ref().filter(|_| meets).and_then(|cue| {
            let mut phrases = self.settings.patterns.iter().filter(|pattern| pattern.family == Family::Phrase);
            phrases.find(|pattern| pattern.id == cue.pattern)
        });
        let plan = &self.settings.plan;
        let named = self.settings.patterns.iter().map(|pattern| (&pattern.id, pattern.name.as_str()));
        Snapshot {
            unfit: plan.unfit.misfits(named),
            parts: met.map(pattern::parts).unwrap_or_default(),
            at: Seconds(self.now.0.max(0.0)),
            planned: self.settings.planned,
            face,
            cue,
            reason,
            judged: self.judged.clone().map(Box::new),
            next: self.next.clone(),
            keys: self.rows(),
            before: self.before.clone(),
            all_hold: self.beliefs.all_hold(plan).map(|how| (how, plan.goals)),
            recurring: match (face, plan.keys.first()) {
                (Face::Over, Some(key)) => self.faults.all(&self.reader(*key)),
                _ => Vec::new(),
            },
            trouble: self.trouble,
            sounding: self.rests.total(),
            dropped: self.dropped,
            answers: self.answers,
            calibrated: self.settings.began.delay.is_some(),
            simulated: self.settings.began.simulated,
        }
    }
}
