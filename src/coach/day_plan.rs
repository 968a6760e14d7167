//! A plan for one day, made of what is known of the player and the minutes there are. The coach asks each cue as ever; the plan
//! says which patterns are among them, how long the drill is, and what comes after it.
//!
//! `talk/day.rs` knows the minutes, the share of joined phrases and what was left undone; the plan's lines are in `words/day.rs`,
//! what is typed in `cli/practice/today.rs`.

use crate::coach::learner_model::MEETING;
use crate::coach::{LearnerModel, Plan, SittingPlan, Spared};
use crate::music::ConcertKey;
use crate::pattern::PatternId;
use crate::units::Seconds;

/// Most known patterns of a day: with more, none would be practised.
const PATTERNS: usize = 3;
/// A pattern that was not answered for more days than this was laid aside.
const ASIDE: i32 = 60;
/// A pattern with fewer answers than this is still new. A day has one new pattern at most, because two at once undo each other; only
/// while no pattern is known are all of them new.
const NEW: u32 = 24;
/// About how long a cue takes with its answer in tempo, the verdict and the rests.
const TURN: Seconds = Seconds(18.0);
/// Least time between the opening round and the closing minutes for what needs practice most and what is new. Where there is less, that
/// part of the day is left out.
const WORK: Seconds = Seconds(60.0);

/// What a day is planned from.
#[derive(Debug, Clone)]
pub struct DayWish<'a> {
    /// How long the day's practice is, rests included.
    pub length: Seconds,
    /// Whether the drill ends with a round without a stop.
    pub round: bool,
    /// How long joined phrases are traded at the end of the day's practice; 0 where they are not.
    pub phrases: Seconds,
    /// The chart of the free chorus with which the day ends, and how long that lasts; `None` where it does not end so.
    pub free: Option<(String, Seconds)>,
    /// Keys, goals and day. Its patterns are those of a first sitting: they are asked where no pattern is known lately.
    pub plan: &'a Plan,
    /// The next pattern that nobody has answered yet.
    pub offered: Option<PatternId>,
    /// How lips, voice and hands are spared.
    pub spared: Spared,
}

/// The plan of a day.
#[derive(Debug, Clone, PartialEq)]
pub struct DayPlan {
    /// The patterns that the drill asks, the new one last.
    pub patterns: Vec<PatternId>,
    /// How long the drill is.
    pub drilled: Seconds,
    /// The parts of the day, each with the instant at which it ends.
    pub parts: Vec<(DayPart, Seconds)>,
}

/// A part of a day.
#[derive(Debug, Clone, PartialEq)]
pub enum DayPart {
    /// The beginning: low, and with what goes well.
    Easy,
    /// Every key once, to hear what the time away left.
    Back {
        /// Number of keys for which there is time, at least one.
        keys: usize,
        /// The key that was away longest, with the pattern and the number of days; `None` where none was away for two days.
        longest: Option<(PatternId, ConcertKey, i32)>,
    },
    /// One new pattern, then what needs practice most.
    New {
        /// The pattern.
        pattern: PatternId,
        /// Whether the pattern was begun on another day and still counts as new.
        begun: bool,
    },
    /// What needs practice most; no pattern is added to the patterns of the day.
    Work,
    /// The end: keys that go well.
    Closing,
    /// The patterns of the drill, in a round through the keys without a stop.
    Round,
    /// Joined phrases.
    Phrases,
    /// A free chorus.
    FreeChorus {
        /// The name of its chart.
        chart: String,
    },
}

impl DayPlan {
    /// The pattern that is new in the plan, if one is.
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
        let (mut patterns, mut new) = self.of_the_day(wish);
        patterns.extend(new.iter().map(|(pattern, _)| pattern.clone()));
        let joined_until = wish.length - wish.free.as_ref().map_or(Seconds(0.0), |(_, length)| *length);
        let drilled = joined_until - wish.phrases;
        let [easy, closing] = SittingPlan::new(Some(drilled), wish.spared).bounds();
        let plan = Plan { patterns: patterns.clone(), ..wish.plan.clone() };
        let asked = plan.keys.iter().filter(|key| plan.pairs().any(|pair| pair.1 == **key)).count();
        // A player who never answered meets the first pattern before the opening round.
        let met = if self.answered().next().is_none() { MEETING as usize } else { 0 };
        let keys = asked.min(((closing.0 / TURN.0) as usize).saturating_sub(met)).max(1);
        let mut back_until = (TURN * (keys + met) as f64).max(easy);
        let work = closing.0 - back_until.0 >= WORK.0;
        if !work {
            back_until = closing;
            if new.take_if(|(_, begun)| !*begun).is_some() {
                patterns.pop();
            }
        }
        let longest = self.back(&plan).into_iter().max_by_key(|back| back.days);
        let back = DayPart::Back { keys, longest: longest.map(|back| (back.pattern, back.key, back.days)) };
        let mut parts = vec![(DayPart::Easy, easy), (back, back_until)];
        if work {
            parts.push((new.map_or(DayPart::Work, |(pattern, begun)| DayPart::New { pattern, begun }), closing));
        }
        parts.push((if wish.round { DayPart::Round } else { DayPart::Closing }, drilled));
        if wish.phrases.0 > 0.0 {
            parts.push((DayPart::Phrases, joined_until));
        }
        parts.extend(wish.free.iter().map(|(chart, _)| (DayPart::FreeChorus { chart: chart.clone() }, wish.length)));
        DayPlan { patterns, drilled, parts }
    }

    /// The known patterns that need practice most, and the new one: the pattern that was begun lately, else the one that is offered;
    /// `true` beside it says that it was begun. Where no pattern is known lately: those that are young, those of a first sitting,
    /// and nothing new.
    fn of_the_day(&self, wish: &DayWish<'_>) -> (Vec<PatternId>, Option<(PatternId, bool)>) {
        let lately = |pattern: &&PatternId| {
            let last = self
                .patterns
                .get(*pattern)
                .and_then(|rows| rows.keys.iter().filter_map(|key| key.days().last()).map(|day| day.day).max());
            last.is_some_and(|last| wish.plan.day.saturating_sub(last) <= ASIDE)
        };
        let answers = |pattern: &PatternId| self.patterns.get(pattern).map_or(0, |rows| rows.answers);
        let (young, mut known): (Vec<&PatternId>, Vec<&PatternId>) =
            self.answered().filter(lately).partition(|pattern| answers(pattern) < NEW);
        if known.is_empty() && young.len() <= wish.plan.patterns.len() {
            // The first days, whose patterns are few and all of them new; or every pattern was laid aside long ago.
            let rest = wish.plan.patterns.iter().filter(|first| !young.contains(first));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::{AnswerEvidence, Goals, Rule};
    use crate::cue::{Form, Timing};
    use crate::pattern::Register;
    use crate::units::Tempo;
    use crate::verdict::TempoStep;

    fn id(name: &str) -> PatternId {
        PatternId(name.to_owned())
    }

    /// Enters so many answers to a pattern on a day, round the keys, each at this tempo.
    fn answers(learner: &mut LearnerModel, pattern: &str, day: i32, many: usize, tempo: f64) {
        for n in 0..many {
            learner.learn(&AnswerEvidence {
                pattern: id(pattern),
                key: ConcertKey::FIFTHS[n % 12],
                register: Register::Middle,
                form: Form::Pattern,
                timing: Timing::InTempo,
                tempo: Tempo(tempo),
                kept_tempo: Some(Tempo(tempo)),
                right: 5,
                of: 5,
                step: TempoStep::Up,
                rule: Rule::UpStayDown,
                reflex: None,
                day,
                at: Seconds(0.0),
            });
        }
    }

    fn planned(learner: &LearnerModel, minutes: f64, offered: Option<&str>) -> DayPlan {
        let goals = Goals { tempo: Tempo(160.0), reflex: Seconds(0.8) };
        let plan = Plan::new(vec![id("row"), id("triad")], ConcertKey::FIFTHS.to_vec(), goals, 30);
        learner.day_plan(&DayWish {
            length: Seconds(60.0 * minutes),
            round: false,
            phrases: Seconds(60.0),
            free: None,
            plan: &plan,
            offered: offered.map(id),
            spared: Spared::USUAL,
        })
    }

    #[test]
    fn the_first_day_has_the_first_patterns_and_nothing_newer() {
        let day = planned(&LearnerModel::new(), 20.0, Some("thirds"));
        assert_eq!((day.patterns.clone(), day.new_thing()), (vec![id("row"), id("triad")], None));
    }

    #[test]
    fn the_parts_follow_one_another_and_fill_the_minutes_there_are() {
        let mut learner = LearnerModel::new();
        answers(&mut learner, "row", 29, 60, 80.0);
        for minutes in [5.0, 6.0, 10.0, 20.0, 45.0, 180.0] {
            let day = planned(&learner, minutes, Some("thirds"));
            let ends: Vec<f64> = day.parts.iter().map(|(_, until)| until.0).collect();
            assert!(ends.windows(2).all(|two| two[0] <= two[1]) && ends[0] > 0.0, "{ends:?}");
            assert_eq!(ends[ends.len() - 2..], [day.drilled.0, 60.0 * minutes], "the phrases come last");
            // 18 s a key: of six minutes one goes to phrases, and twelve keys leave no time for what is new in the others.
            assert_eq!(ends.len(), if minutes > 6.0 { 5 } else { 4 }, "{ends:?}");
            assert_eq!(day.new_thing().is_some(), minutes > 6.0, "what is new has its time, or waits");
        }
    }

    #[test]
    fn one_new_thing_comes_and_no_other_while_it_is_new() {
        let mut learner = LearnerModel::new();
        answers(&mut learner, "row", 29, 60, 80.0);
        let day = planned(&learner, 20.0, Some("thirds"));
        assert_eq!(day.parts[2].0, DayPart::New { pattern: id("thirds"), begun: false });
        answers(&mut learner, "thirds", 29, 9, 60.0);
        let day = planned(&learner, 20.0, Some("enclosure"));
        assert_eq!(day.parts[2].0, DayPart::New { pattern: id("thirds"), begun: true });
        assert_eq!(day.patterns, [id("row"), id("thirds")]);
        answers(&mut learner, "thirds", 29, 20, 60.0);
        let day = planned(&learner, 20.0, None);
        assert_eq!(day.parts[2].0, DayPart::Work, "where nothing is left to offer");
    }

    #[test]
    fn three_known_patterns_a_day_the_neediest_and_none_that_was_laid_aside() {
        let mut learner = LearnerModel::new();
        for (n, pattern) in ["a", "b", "c", "d"].iter().enumerate() {
            answers(&mut learner, pattern, 20, 60, 60.0 + 20.0 * n as f64);
        }
        let mut long_ago = LearnerModel::new();
        answers(&mut long_ago, "old", -60, 60, 60.0);
        assert_eq!(planned(&learner, 20.0, None).patterns, [id("a"), id("b"), id("c")]);
        assert_eq!(planned(&long_ago, 20.0, None).patterns, [id("row"), id("triad")]);
    }
}
