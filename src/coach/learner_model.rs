use std::collections::BTreeMap;

use crate::coach::forgetting::{Forgetting, TimeAway};
use crate::coach::in_use::InUse;
use crate::coach::key_stats::KeyStats;
use crate::coach::need::{Need, earnings, tired};
use crate::coach::{AnswerEvidence, CameOut, Choice, Goals, Holds, Plan, Reason, day};
use crate::cue::{Cue, Form, Timing};
use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::units::rank;
use crate::verdict::Verdict;

/// Number of answers in the easiest key before a new pattern is mixed over the keys.
pub(super) const MEETING: u32 = 3;
/// Outside the meeting of a new pattern, which stays in one key, no key is chosen again within this many cues where there are
/// enough other keys.
pub(super) const CUES_BETWEEN: usize = 2;
/// Bounds of a credit before the chosen one pays, in cues.
const CREDIT: (f64, f64) = (-2.0, 2.0);

/// All that is known of the player, and the bookkeeping of turns.
///
/// The model is a pure function of what [`LearnerModel::asked`] and [`LearnerModel::learn`] entered, in order: the same record gives
/// the same model bit for bit, and no generator is needed to replay it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LearnerModel {
    /// What is known of each pattern that was asked.
    pub(super) patterns: BTreeMap<PatternId, PatternStats>,
    /// The day on which something was entered last.
    pub(super) day: Option<i32>,
    /// Number of choices ever made, repeats not counted.
    pub(super) turn: u64,
    /// The latest keys, newest first; empty at the beginning of a day.
    pub(super) recent: Vec<ConcertKey>,
    /// The turn at which each key was last asked, in any pattern; by its place on the circle of fifths.
    pub(super) last_turn: [Option<u64>; 12],
    /// The day on which each key was last asked, in any pattern; by its place on the circle of fifths.
    pub(super) last_day: [Option<i32>; 12],
    /// The latest cue with which a new pattern was met.
    pub(super) meeting: Option<Meeting>,
    /// The form of cue that is answered freely now; `None` while answers are in tempo.
    pub(super) practised: Option<Form>,
    /// What passes in phrases. No choice of a cue in a drill rests on it.
    pub(super) in_use: InUse,
}

/// The latest turn of meeting a new pattern.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Meeting {
    /// The new pattern.
    pub(super) pattern: PatternId,
    /// The key in which it was asked.
    pub(super) key: ConcertKey,
    /// The turn at which it was asked.
    pub(super) turn: u64,
}

/// What is known of one pattern.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct PatternStats {
    /// What is known of each of its keys, by place on the circle of fifths.
    pub(super) keys: [KeyStats; 12],
    /// What the pattern has earned by its need and not yet paid by being asked, in cues.
    pub(super) credit: f64,
    /// Number of answers to the pattern that were ever entered.
    pub(super) answers: u32,
    /// Number of the pattern's keys that the opening round asked on the model's latest day.
    pub(super) opened_today: u32,
    /// Whether the pattern was asked outside its meeting, so that it has been met.
    pub(super) mixed: bool,
}

impl PatternStats {
    /// Whether the pattern was met: it was asked outside its meeting, or answered three times.
    pub(super) fn met(&self) -> bool {
        self.mixed || self.answers >= MEETING
    }
}

impl LearnerModel {
    /// A model that knows nothing yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Enters one judged answer.
    pub fn learn(&mut self, outcome: &AnswerEvidence) {
        self.begin_day(outcome.day);
        self.practised = (outcome.timing == Timing::Free).then_some(outcome.form);
        let pattern = self.patterns.entry(outcome.pattern.clone()).or_default();
        pattern.answers += 1;
        pattern.keys[outcome.key.place()].learn(outcome);
    }

    /// Enters the answer to a phrase of joined patterns; the drill's own figures stay as they are.
    pub fn learn_in_use(&mut self, cue: &Cue, verdict: &Verdict, day: i32) {
        self.in_use.enter(cue, verdict, day);
    }

    /// Enters a free chorus: what of the drilled patterns was looked for in it, and what came out.
    pub fn learn_free(&mut self, chorus: &[CameOut]) {
        self.in_use.enter_free(chorus);
    }

    /// What passes in phrases, and comes out in free playing.
    #[must_use]
    pub const fn in_use(&self) -> &InUse {
        &self.in_use
    }

    /// Enters one cue, chosen now or found in the record. A repeat (asked for, or after silence) is not a choice, nor is a stage of
    /// a line that is taken apart.
    pub fn asked(&mut self, plan: &Plan, choice: &Choice, repeat: bool) {
        self.begin_day(plan.day);
        if repeat || choice.reason.uncounted() {
            return;
        }
        self.turn += 1;
        match choice.reason {
            Reason::Meeting { .. } => {
                self.meeting = Some(Meeting { pattern: choice.pattern.clone(), key: choice.key, turn: self.turn });
            }
            Reason::Closing | Reason::HeldOut { .. } => {}
            _ => self.pay(plan, choice),
        }
        self.recent.insert(0, choice.key);
        self.recent.truncate(CUES_BETWEEN);
        self.last_turn[choice.key.place()] = Some(self.turn);
        self.last_day[choice.key.place()] = Some(plan.day);
        let pattern = self.patterns.entry(choice.pattern.clone()).or_default();
        pattern.mixed |= !matches!(choice.reason, Reason::Meeting { .. });
        let opening =
            matches!(choice.reason, Reason::Opening { .. } | Reason::OpeningHere { .. } | Reason::Joins { .. });
        pattern.opened_today += u32::from(opening);
        let row = &mut pattern.keys[choice.key.place()];
        row.rung = row.rung.or_else(|| Some(choice.tempo.0.log2()).filter(|rung| rung.is_finite()));
        row.cues += 1;
        row.cues_today += 1;
        row.last_day = Some(plan.day);
        row.last_turn = Some(self.turn);
        row.registers.entry(choice.register).or_default().cues += 1;
    }

    /// What is known of a key in a pattern; empty statistics for a key that was never asked.
    #[must_use]
    pub fn key_stats(&self, pattern: &PatternId, key: ConcertKey) -> KeyStats {
        self.patterns.get(pattern).map(|rows| rows.keys[key.place()].clone()).unwrap_or_default()
    }

    /// How a key holds: the goals were reached on two of the three latest days on which it was answered in that way. `None` where
    /// it does not hold.
    #[must_use]
    pub fn holds(&self, pattern: &PatternId, key: ConcertKey, goals: &Goals) -> Option<Holds> {
        day::hold(&self.patterns.get(pattern)?.keys[key.place()].days, goals)
    }

    /// The weakest way in which any pair of pattern and key holds, once all pairs hold: it is then time for a higher goal or another
    /// pattern. `None` while a pair does not hold.
    #[must_use]
    pub fn all_hold(&self, plan: &Plan) -> Option<Holds> {
        let all: Option<Vec<Holds>> =
            plan.pairs().map(|(pattern, key)| self.holds(pattern, key, &plan.goals)).collect();
        all?.into_iter().min()
    }

    /// Whether the key fails on and on today in this pattern, so that it comes seldom until tomorrow.
    #[must_use]
    pub fn rested(&self, pattern: &PatternId, key: ConcertKey) -> bool {
        self.patterns.get(pattern).is_some_and(|rows| tired(&rows.keys[key.place()]))
    }

    /// How far a key in this pattern is from the goals. Where the key was never answered in this pattern, its mean need over the
    /// patterns in which it was; where it was never answered at all, the need of a key of which nothing is known.
    #[must_use]
    pub fn need(&self, pattern: &PatternId, key: ConcertKey, goals: &Goals) -> Need {
        match self.patterns.get(pattern).map(|rows| &rows.keys[key.place()]) {
            Some(row) if row.answers > 0 => Need::of(row, goals, self.practised),
            unknown => self
                .borrowed(key, goals)
                .unwrap_or_else(|| Need::of(unknown.unwrap_or(&KeyStats::default()), goals, self.practised)),
        }
    }

    /// The mean need of a key over the patterns in which it was answered; `None` where it never was.
    pub(super) fn borrowed(&self, key: ConcertKey, goals: &Goals) -> Option<Need> {
        let rows = self.patterns.values().map(|rows| &rows.keys[key.place()]).filter(|row| row.answers > 0);
        let needs: Vec<Need> = rows.map(|row| Need::of(row, goals, self.practised)).collect();
        let mean = |part: fn(&Need) -> f64| needs.iter().map(part).sum::<f64>() / needs.len() as f64;
        (!needs.is_empty()).then(|| Need {
            tempo: mean(|need| need.tempo),
            reflex: mean(|need| need.reflex),
            failing: mean(|need| need.failing),
        })
    }

    /// What so many days take from a key in this pattern, in octaves, by the player's own first tries after such a gap: those of the
    /// key, drawn towards the mean of all keys and patterns. Negative where the player comes back better.
    #[must_use]
    pub fn forgets(&self, pattern: &PatternId, key: ConcertKey, days: i32) -> f64 {
        let away = TimeAway::of(days);
        let own =
            self.patterns.get(pattern).map_or(Forgetting::default(), |rows| rows.keys[key.place()].lost[away as usize]);
        own.drawn_to(self.forgotten(away).mean())
    }

    /// First tries after so long an absence, over all keys and patterns.
    #[must_use]
    pub fn forgotten(&self, away: TimeAway) -> Forgetting {
        let rows = self.patterns.values().flat_map(|rows| &rows.keys);
        rows.fold(Forgetting::default(), |sum, row| sum.with(row.lost[away as usize]))
    }

    /// Begins a new day, if it is one: the opening round begins again, no key counts as asked lately, and a key that rested is
    /// fresh.
    pub(super) fn begin_day(&mut self, day: i32) {
        if self.day == Some(day) {
            return;
        }
        self.day = Some(day);
        self.recent.clear();
        for rows in self.patterns.values_mut() {
            rows.opened_today = 0;
            for row in &mut rows.keys {
                row.cues_today = 0;
                row.answers_today = 0;
                row.passed_today = 0;
            }
        }
    }

    /// Enters the credits of a turn: every pattern that shares turns, and every key of the chosen pattern that may be asked, earns its
    /// share; the chosen pattern and the chosen key pay one cue each.
    fn pay(&mut self, plan: &Plan, choice: &Choice) {
        let patterns = self.earning(plan, &choice.pattern);
        let needs: Vec<f64> = patterns.iter().map(|pattern| self.pattern_need(plan, pattern)).collect();
        for (pattern, earned) in patterns.iter().zip(earnings(&needs)) {
            let row = self.patterns.entry((*pattern).clone()).or_default();
            row.credit =
                (row.credit + earned).clamp(CREDIT.0, CREDIT.1) - f64::from(u8::from(**pattern == choice.pattern));
        }
        let keys = self.active(plan, &choice.pattern);
        let needs: Vec<f64> = keys.iter().map(|key| self.turn_need(plan, &choice.pattern, *key)).collect();
        let rows = &mut self.patterns.entry(choice.pattern.clone()).or_default().keys;
        for (key, earned) in keys.iter().zip(earnings(&needs)) {
            let row = &mut rows[key.place()];
            row.credit = (row.credit + earned).clamp(CREDIT.0, CREDIT.1) - f64::from(u8::from(*key == choice.key));
        }
    }

    /// The patterns that share turns now: those that have been met, and the one that is asked.
    fn earning<'a>(&self, plan: &'a Plan, asked: &PatternId) -> Vec<&'a PatternId> {
        plan.patterns.iter().filter(|pattern| *pattern == asked || self.met(pattern)).collect()
    }

    /// Whether a pattern has been met.
    pub(super) fn met(&self, pattern: &PatternId) -> bool {
        self.patterns.get(pattern).is_some_and(PatternStats::met)
    }

    /// The need of a pattern: the mean of its three neediest keys.
    pub(super) fn pattern_need(&self, plan: &Plan, pattern: &PatternId) -> f64 {
        let keys = self.active(plan, pattern);
        let mut needs: Vec<f64> = keys.iter().map(|key| self.turn_need(plan, pattern, *key)).collect();
        needs.sort_by_cached_key(|need| rank(-need));
        needs.truncate(3);
        needs.iter().sum::<f64>() / needs.len().max(1) as f64
    }

    /// The need that decides about turns: 0 for a key that rests.
    pub(super) fn turn_need(&self, plan: &Plan, pattern: &PatternId, key: ConcertKey) -> f64 {
        if self.rested(pattern, key) { 0.0 } else { self.need(pattern, key, &plan.goals).total() }
    }

    /// The keys in which a pattern may be asked: all in which it fits. Where keys join one by one, these are the keys that hold and the
    /// next few in the plan's order: three in all, or one more than hold where that is more.
    pub(super) fn active(&self, plan: &Plan, pattern: &PatternId) -> Vec<ConcertKey> {
        let keys = plan.keys_of(pattern);
        if !plan.one_by_one {
            return keys;
        }
        let (hold, rest): (Vec<ConcertKey>, Vec<ConcertKey>) =
            keys.into_iter().partition(|key| self.holds(pattern, *key, &plan.goals).is_some());
        let more = 3usize.saturating_sub(hold.len()).max(1);
        hold.into_iter().chain(rest.into_iter().take(more)).collect()
    }
}
