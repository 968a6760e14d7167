//! A plan for one day: what is known of the player laid into the minutes there are. The coach asks each cue as ever; the plan says
//! which patterns are among them, how long, and what comes after the drill.

use crate::coach::{LearnerModel, Plan, SittingPlan, Spared};
use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::units::Seconds;

/// Known patterns of a day: more are no practice of any.
const PATTERNS: usize = 3;
/// What was not answered for so many days was laid aside.
const ASIDE: i32 = 60;
/// A pattern with fewer answers is new yet, and no newer one comes beside it: two new ones at once undo each other.
const NEW: u32 = 24;
/// About what a cue and its answer take.
const TURN: Seconds = Seconds(10.0);

/// What a day is planned from.
#[derive(Debug, Clone)]
pub struct DayWish<'a> {
    /// How long, rests included.
    pub length: Seconds,
    /// How long joined phrases are traded at its end; nothing where they are not.
    pub phrases: Seconds,
    /// Keys, goals and day; its patterns are passed over.
    pub plan: &'a Plan,
    /// The patterns of a first sitting.
    pub first: &'a [PatternId],
    /// The next pattern that nobody has answered yet.
    pub offered: Option<PatternId>,
    /// How lips, voice and hands are spared.
    pub spared: Spared,
}

/// What a day brings.
#[derive(Debug, Clone, PartialEq)]
pub struct DayPlan {
    /// What is asked in the drill, what is new last.
    pub patterns: Vec<PatternId>,
    /// How long the drill is.
    pub drilled: Seconds,
    /// Its parts, each with the instant at which it ends.
    pub parts: Vec<(DayPart, Seconds)>,
}

/// A part of a day.
#[derive(Debug, Clone, PartialEq)]
pub enum DayPart {
    /// Low, and with what goes well.
    Easy,
    /// Every key once: what the time away left.
    Back {
        /// How many keys.
        keys: usize,
        /// The key that was away longest, in which pattern and for how many days, where it was two or more.
        longest: Option<(PatternId, ConcertKey, i32)>,
    },
    /// One new thing, then what needs it most.
    New {
        /// The pattern.
        pattern: PatternId,
        /// It was begun on another day and is new yet.
        begun: bool,
    },
    /// What needs it most: nothing new.
    Work,
    /// Something that goes well.
    Closing,
    /// Joined phrases.
    Phrases,
}

impl DayPlan {
    /// What is new in it.
    #[must_use]
    pub fn new_thing(&self) -> Option<&PatternId> {
        self.parts
            .iter()
            .find_map(|(part, _)| if let DayPart::New { pattern, .. } = part { Some(pattern) } else { None })
    }
}

impl LearnerModel {
    /// The patterns that were ever answered.
    pub fn answered(&self) -> impl Iterator<Item = &PatternId> {
        self.patterns.iter().filter(|(_, rows)| rows.answers > 0).map(|(pattern, _)| pattern)
    }

    /// The day's plan. Nothing is entered, so the same record and wish give the same plan.
    #[must_use]
    pub fn day_plan(&self, wish: &DayWish<'_>) -> DayPlan {
        let (known, new) = self.of_the_day(wish);
        let patterns: Vec<PatternId> =
            known.into_iter().chain(new.iter().map(|(pattern, _)| pattern.clone())).collect();
        let plan = Plan { patterns: patterns.clone(), ..wish.plan.clone() };
        let drilled = wish.length - wish.phrases;
        let [easy, closing] = SittingPlan::new(Some(drilled), wish.spared).bounds();
        let asked: Vec<ConcertKey> =
            plan.keys.iter().copied().filter(|key| plan.pairs().any(|pair| pair.1 == *key)).collect();
        let longest = self.back(&plan).into_iter().max_by_key(|back| back.days);
        let back =
            DayPart::Back { keys: asked.len(), longest: longest.map(|back| (back.pattern, back.key, back.days)) };
        let back_until = (TURN * asked.len() as f64).max(easy + TURN).min(closing);
        let work = new.map_or(DayPart::Work, |(pattern, begun)| DayPart::New { pattern, begun });
        let mut parts = vec![(DayPart::Easy, easy), (back, back_until), (work, closing), (DayPart::Closing, drilled)];
        if wish.phrases.0 > 0.0 {
            parts.push((DayPart::Phrases, wish.length));
        }
        DayPlan { patterns, drilled, parts }
    }

    /// The known patterns that need it most, and what is new: what was begun lately, else what is offered.
    fn of_the_day(&self, wish: &DayWish<'_>) -> (Vec<PatternId>, Option<(PatternId, bool)>) {
        let lately = |pattern: &&PatternId| {
            let last =
                self.patterns.get(*pattern).and_then(|rows| rows.keys.iter().filter_map(|key| key.last_day).max());
            last.is_some_and(|last| wish.plan.day.saturating_sub(last) <= ASIDE)
        };
        let answers = |pattern: &PatternId| self.patterns.get(pattern).map_or(0, |rows| rows.answers);
        let (young, mut known): (Vec<&PatternId>, Vec<&PatternId>) =
            self.answered().filter(lately).partition(|pattern| answers(pattern) < NEW);
        if known.is_empty() && young.len() <= wish.first.len() {
            // The first days: their patterns are few, and all of them new.
            let rest = wish.first.iter().filter(|first| !young.contains(first));
            return (young.iter().copied().chain(rest).cloned().collect(), None);
        }
        let need = |pattern: &PatternId| {
            self.pattern_need(&Plan { patterns: vec![pattern.clone()], ..wish.plan.clone() }, pattern)
        };
        known.sort_by(|a, b| need(b).total_cmp(&need(a)));
        known.truncate(PATTERNS);
        let begun = young.into_iter().max_by_key(|pattern| answers(pattern)).cloned();
        let new = begun.map(|pattern| (pattern, true)).or_else(|| wish.offered.clone().map(|pattern| (pattern, false)));
        (known.into_iter().cloned().collect(), new)
    }
}
