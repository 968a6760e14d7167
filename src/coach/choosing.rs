//! Keys are chosen by the credit that their need earns: smooth weighted round robin over patterns, then over keys (stride
//! scheduling, Waldspurger & Weihl 1995; from memory). An opening round comes first and tests what the night left; a guard lets no
//! key wait for long.

use std::collections::BTreeSet;

use crate::coach::learner_model::{CUES_BETWEEN, MEETING};
use crate::coach::need::earnings;
use crate::coach::{Choice, LearnerModel, Plan, Reason, Rng, SittingPhase, ladder};
use crate::music::ConcertKey;
use crate::pattern::{PatternId, Register};
use crate::units::{Seconds, Tempo, median, rank};

/// A key that was not asked for this many cues, in any pattern, goes before keys with more credit.
const GUARD: u64 = 36;
/// Largest random number that is added to each credit, in cues, so that nobody can guess the next key.
const JITTER: f64 = 0.15;
/// Largest random number that is added to each need in the opening round, in octaves, so that nobody can guess the next key.
const OPENING_JITTER: f64 = 0.3;
/// A new pattern is met at this share of the tempo at which a known pattern begins.
const SLOWLY: f64 = 0.8;
/// Number of cues between the meetings of two new patterns: if a near twin follows at once, it undoes what was just learnt (Allen
/// 2013).
const BETWEEN_MEETINGS: u64 = 12;
/// Number of timed answers in a register from which its reflex time counts as known.
const KNOWN: u32 = 8;
/// The last minutes are spent on at most this many keys that go well.
const CLOSING: usize = 4;

/// A pattern and the keys in which it may be asked now.
type OpenPattern<'a> = (&'a PatternId, Vec<ConcertKey>);

impl LearnerModel {
    /// Chooses what to ask next and enters it as asked. The same model, plan and generator give the same choice.
    ///
    /// `None` for a plan without patterns or keys.
    pub fn choose(&mut self, plan: &Plan, rng: &mut Rng) -> Option<Choice> {
        self.begin_day(plan.day);
        let choice = self.pick(plan, rng)?;
        self.asked(plan, &choice, false);
        Some(choice)
    }

    fn pick(&self, plan: &Plan, rng: &mut Rng) -> Option<Choice> {
        let closing = plan.phase == SittingPhase::Closing;
        let unopened = self.unopened(plan);
        let known = plan.patterns.iter().any(|pattern| self.met(pattern));
        if plan.meet && !closing {
            let opening = known && unopened.iter().any(|(pattern, _)| self.met(pattern));
            if let Some(choice) = self.meeting(plan, known, opening) {
                return Some(choice);
            }
        }
        let mixed: Vec<&PatternId> =
            plan.patterns.iter().filter(|pattern| !plan.meet || !known || self.met(pattern)).collect();
        let unopened: Vec<(&PatternId, ConcertKey)> =
            unopened.into_iter().filter(|(pattern, _)| mixed.contains(pattern)).collect();
        if let Some(choice) = self.opening(plan, &unopened, rng) {
            return Some(choice);
        }
        if let Some(choice) = self.held_out(plan, &mixed) {
            return Some(choice);
        }
        let open = self.open(plan, &mixed);
        self.by_guard(plan, &open, rng)
            .or_else(|| if closing { self.closing(plan, &open, rng) } else { None })
            .or_else(|| self.by_credit(plan, &open, rng))
    }

    /// The pairs of a pattern and a key that are left of today's opening round: those whose key was not asked today in any pattern.
    fn unopened<'a>(&self, plan: &'a Plan) -> Vec<(&'a PatternId, ConcertKey)> {
        let fresh = |key: &ConcertKey| self.last_day[key.place()] != Some(plan.day);
        let open = |pattern| self.active(plan, pattern).into_iter().filter(fresh).map(move |key| (pattern, key));
        plan.patterns.iter().flat_map(open).collect()
    }

    /// The choice for a new pattern, which is met in the easiest key before anything else. Another new pattern is met only after
    /// the opening round and some cues.
    fn meeting(&self, plan: &Plan, known: bool, opening: bool) -> Option<Choice> {
        let begun = self.meeting.as_ref();
        let going_on = begun.filter(|m| m.turn == self.turn && plan.keys_of(&m.pattern).contains(&m.key));
        let going_on = going_on.filter(|m| plan.patterns.contains(&m.pattern) && !self.met(&m.pattern));
        let late = begun.is_none_or(|m| self.turn - m.turn >= BETWEEN_MEETINGS);
        let (pattern, key) = match going_on {
            Some(meeting) => (&meeting.pattern, meeting.key),
            None if !known || (late && !opening) => {
                // A pattern that fits in no key but held-out ones has none in which it is met, and keeps no other from its turn.
                let mut new = plan.patterns.iter().filter(|pattern| !self.met(pattern));
                new.find_map(|pattern| Some((pattern, self.easiest(plan, pattern)?)))?
            }
            None => return None,
        };
        let rows = self.patterns.get(pattern);
        let left = MEETING.saturating_sub(rows.map_or(0, |rows| rows.answers));
        let slow = plan.first_tempo.0 * SLOWLY;
        let rung = rows.and_then(|rows| rows.keys[key.place()].rung).map_or(slow, f64::exp2);
        let tempo = ladder::tempo(rung.min(plan.first_tempo.0).log2(), plan.goals.tempo);
        let register = self.register(plan, pattern, key)?;
        Some(Choice { pattern: pattern.clone(), key, register, tempo, reason: Reason::Meeting { left } })
    }

    /// The key of the pattern that needs least, by its mean need over the patterns in which it was answered; the first key of the plan
    /// where no key was ever answered.
    fn easiest(&self, plan: &Plan, pattern: &PatternId) -> Option<ConcertKey> {
        let keys = plan.keys_of(pattern);
        let needs = keys.iter().filter_map(|key| Some((*key, self.borrowed(*key, &plan.goals)?.total())));
        needs.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(key, _)| key).or_else(|| keys.first().copied())
    }

    /// The choice of the opening round: every key once a day, the neediest first (in the first minutes the easiest first), the
    /// patterns in turn.
    fn opening(&self, plan: &Plan, unopened: &[(&PatternId, ConcertKey)], rng: &mut Rng) -> Option<Choice> {
        let opened = |pattern| self.patterns.get(pattern).map_or(0, |rows| rows.opened_today);
        let fewest = unopened.iter().map(|(pattern, _)| opened(pattern)).min()?;
        let direction = if plan.phase == SittingPhase::Easy { -1.0 } else { 1.0 };
        let score = |(pattern, key): &(&PatternId, ConcertKey)| {
            let left = self.days_since(plan, pattern, *key).map_or(0.0, |days| self.forgets(pattern, *key, days));
            direction * (self.need(pattern, *key, &plan.goals).total() + left) + OPENING_JITTER * rng.uniform()
        };
        let candidates = unopened.iter().filter(|(pattern, _)| opened(pattern) == fewest);
        let (pattern, key) = largest(candidates.copied(), score)?;
        let cues = self.patterns.get(pattern).map_or(0, |rows| rows.keys[key.place()].cues);
        let others = self.active(plan, pattern).len() as u32 - 1;
        let joins = plan.one_by_one && cues == 0 && others > 0;
        let holding = |other: &ConcertKey| *other == key || self.holds(pattern, *other, &plan.goals).is_some();
        let reason = if joins && self.active(plan, pattern).iter().all(holding) {
            Reason::Joins { others }
        } else {
            let days = self.days_since(plan, pattern, key);
            let anywhere = self.last_day[key.place()].map(|last| plan.day.saturating_sub(last));
            if days == anywhere { Reason::Opening { days } } else { Reason::OpeningHere { days } }
        };
        self.choice(plan, pattern, key, reason)
    }

    /// Days since this key was last asked in this pattern; `None` where it never was.
    pub(super) fn days_since(&self, plan: &Plan, pattern: &PatternId, key: ConcertKey) -> Option<i32> {
        let last = self.patterns.get(pattern)?.keys[key.place()].last_day?;
        Some(plan.day.saturating_sub(last))
    }

    fn by_guard(&self, plan: &Plan, open: &[OpenPattern<'_>], rng: &mut Rng) -> Option<Choice> {
        let waited = |key: ConcertKey| self.last_turn[key.place()].map_or(0, |turn| self.turn + 1 - turn);
        let takes =
            |key: ConcertKey| open.iter().filter(move |(_, keys)| keys.contains(&key)).map(|(pattern, _)| *pattern);
        let late = plan.keys.iter().copied().filter(|key| waited(*key) >= GUARD && takes(*key).next().is_some());
        let key = late.max_by_key(|key| waited(*key))?;
        let pattern = self.richest(plan, &takes(key).collect::<Vec<_>>(), rng)?;
        let reason = self.resting(pattern, key).unwrap_or(Reason::Guard { cues: waited(key) as u32 });
        self.choice(plan, pattern, key, reason)
    }

    fn by_credit(&self, plan: &Plan, open: &[OpenPattern<'_>], rng: &mut Rng) -> Option<Choice> {
        let patterns: Vec<&PatternId> = open.iter().map(|(pattern, _)| *pattern).collect();
        let pattern = self.richest(plan, &patterns, rng)?;
        let candidates = open.iter().find(|(one, _)| *one == pattern).map(|(_, keys)| keys)?;
        let keys = self.active(plan, pattern);
        let needs: Vec<f64> = keys.iter().map(|key| self.turn_need(plan, pattern, *key)).collect();
        let credit = |key: ConcertKey| self.patterns.get(pattern).map_or(0.0, |rows| rows.keys[key.place()].credit);
        let earned = keys.iter().copied().zip(earnings(&needs)).filter(|(key, _)| candidates.contains(key));
        let (key, _) = largest(earned, |(key, earned)| credit(*key) + earned + JITTER * rng.uniform())?;
        let mean = needs.iter().sum::<f64>() / needs.len() as f64;
        let reason = self.reason(plan, pattern, key, mean);
        self.choice(plan, pattern, key, reason)
    }

    /// The true reason of a choice by credit.
    fn reason(&self, plan: &Plan, pattern: &PatternId, key: ConcertKey, mean: f64) -> Reason {
        if let Some(reason) = self.resting(pattern, key) {
            return reason;
        }
        let row = self.key_stats(pattern, key);
        if row.answers == 0 {
            return Reason::Untried { cues: row.cues };
        }
        let keys = self.active(plan, pattern);
        if keys.iter().all(|key| self.at_goal(plan, pattern, *key)) {
            return Reason::Even;
        }
        let need = self.need(pattern, key, &plan.goals);
        match row.last_turn.filter(|_| need.total() < mean) {
            Some(last) => return Reason::Seldom { cues: (self.turn + 1 - last) as u32 },
            None if need.is_satisfied() => return Reason::Turn,
            None => {}
        }
        let times = |key: &ConcertKey| self.key_stats(pattern, *key).reflex(self.practised?);
        let all: Vec<f64> = keys.iter().filter_map(times).map(Seconds::get).collect();
        let (passed, tries) = row.lately();
        Reason::Need {
            reflex: times(&key),
            middle: median(&all).map(Seconds),
            aim: times(&key).map(|_| plan.goals.reflex),
            tempo: ladder::tempo(self.rung(plan, pattern, key), plan.goals.tempo),
            goal: plan.goals.tempo,
            passed,
            tries,
        }
    }

    /// Whether nothing but a rare failure is left of the key's need, and the goals were truly reached.
    fn at_goal(&self, plan: &Plan, pattern: &PatternId, key: ConcertKey) -> bool {
        let row = self.key_stats(pattern, key);
        let quick = self.practised.is_none_or(|form| row.reflex(form).is_some());
        self.need(pattern, key, &plan.goals).is_satisfied() && plan.goals.tempo_reached(row.reached()) && quick
    }

    /// The reason for asking a key that rests: it is asked now and then all the same, and the player is told why it comes so
    /// seldom.
    fn resting(&self, pattern: &PatternId, key: ConcertKey) -> Option<Reason> {
        let row = self.key_stats(pattern, key);
        self.rested(pattern, key).then_some(Reason::Rested { cues: row.cues_today, passed: row.passed_today })
    }

    /// The choice of the last minutes: by lot, one of the few keys that need least among those that go well.
    fn closing(&self, plan: &Plan, open: &[OpenPattern<'_>], rng: &mut Rng) -> Option<Choice> {
        let all = open.iter().flat_map(|(pattern, keys)| keys.iter().map(move |key| (*pattern, *key)));
        let mut well: Vec<(&PatternId, ConcertKey, f64)> = all
            .filter(|(pattern, key)| self.key_stats(pattern, *key).goes_well())
            .map(|(pattern, key)| (pattern, key, self.turn_need(plan, pattern, key)))
            .collect();
        well.sort_by_cached_key(|(_, _, need)| rank(*need));
        well.truncate(CLOSING);
        let (pattern, key, _) = largest(well.into_iter(), |_| rng.uniform())?;
        self.choice(plan, pattern, key, Reason::Closing)
    }

    /// The pattern with the largest credit, counting what it earns with this cue and a small random number.
    fn richest<'a>(&self, plan: &Plan, patterns: &[&'a PatternId], rng: &mut Rng) -> Option<&'a PatternId> {
        if let [only] = patterns {
            return Some(only);
        }
        let needs: Vec<f64> = patterns.iter().map(|pattern| self.pattern_need(plan, pattern)).collect();
        let credit = |pattern| self.patterns.get(pattern).map_or(0.0, |rows| rows.credit);
        let earned = patterns.iter().copied().zip(earnings(&needs));
        largest(earned, |(pattern, earned)| credit(*pattern) + earned + JITTER * rng.uniform())
            .map(|(pattern, _)| pattern)
    }

    /// The patterns and keys that may be asked now: no key among the latest two, or fewer where the patterns have fewer than three
    /// keys between them. A pattern whose only keys were asked lately waits.
    fn open<'a>(&self, plan: &Plan, patterns: &[&'a PatternId]) -> Vec<OpenPattern<'a>> {
        let mut open: Vec<OpenPattern<'a>> =
            patterns.iter().map(|pattern| (*pattern, self.active(plan, pattern))).collect();
        let keys: BTreeSet<ConcertKey> = open.iter().flat_map(|(_, keys)| keys).copied().collect();
        let lately = self.recent.iter().take(CUES_BETWEEN.min(keys.len().saturating_sub(1)));
        open.iter_mut().for_each(|(_, keys)| keys.retain(|key| lately.clone().all(|late| late != key)));
        open.retain(|(_, keys)| !keys.is_empty());
        open
    }

    /// The tempo at which a key would be asked now; while its pattern is being met, no faster than a known pattern begins (the
    /// first cue with which it is met is slower still).
    #[must_use]
    pub fn next_tempo(&self, plan: &Plan, pattern: &PatternId, key: ConcertKey) -> Tempo {
        let rung = self.rung(plan, pattern, key);
        let meets = plan.meet && !self.met(pattern);
        ladder::tempo(if meets { rung.min(plan.first_tempo.0.log2()) } else { rung }, plan.goals.tempo)
    }

    fn rung(&self, plan: &Plan, pattern: &PatternId, key: ConcertKey) -> f64 {
        let known = self.patterns.get(pattern).and_then(|rows| rows.keys[key.place()].rung);
        known.unwrap_or_else(|| plan.first_tempo.0.log2())
    }

    /// Chooses the register. Registers go round evenly: the register in which this key was asked least comes next. Once every
    /// register was answered often enough for its reflex time to be known, the slowest register gets every other turn, for as long
    /// as it is slower than the goal.
    fn register(&self, plan: &Plan, pattern: &PatternId, key: ConcertKey) -> Option<Register> {
        let row = self.patterns.get(pattern).map(|rows| &rows.keys[key.place()]);
        let of = |register: &Register| row.and_then(|row| row.registers.get(register));
        let known = plan.registers.iter().all(|register| of(register).is_some_and(|known| known.timed >= KNOWN));
        if known && row.is_some_and(|row| row.cues % 2 == 1) {
            let time = |register: &Register| self.practised.and_then(|form| of(register)?.reflex(form));
            let timed = plan.registers.iter().filter_map(|register| Some((time(register)?, *register)));
            let slowest = timed.max_by(|a, b| a.0.0.total_cmp(&b.0.0));
            if let Some((_, register)) = slowest.filter(|(time, _)| *time > plan.goals.reflex) {
                return Some(register);
            }
        }
        plan.registers.iter().min_by_key(|register| of(register).map_or(0, |known| known.cues)).copied()
    }

    fn choice(&self, plan: &Plan, pattern: &PatternId, key: ConcertKey, reason: Reason) -> Option<Choice> {
        let tempo = ladder::tempo(self.rung(plan, pattern, key), plan.goals.tempo);
        let register = self.register(plan, pattern, key).unwrap_or(Register::Middle);
        Some(Choice { pattern: pattern.clone(), key, register, tempo, reason })
    }
}

/// The candidate with the largest score; each is scored once, in order, so that a replay draws the same numbers.
fn largest<T: Copy>(candidates: impl Iterator<Item = T>, mut score: impl FnMut(&T) -> f64) -> Option<T> {
    let scored = candidates.map(|candidate| (score(&candidate), candidate));
    scored
        .fold(None, |best: Option<(f64, T)>, one| if best.is_some_and(|b| b.0 >= one.0) { best } else { Some(one) })
        .map(|(_, candidate)| candidate)
}
