//! What passes in phrases over a form: patterns and joins in use, apart from what the drill knows of a pattern's keys.

use std::collections::BTreeMap;

use crate::coach::Reason;
use crate::coach::came_out::{CameOut, PlayedFreely};
use crate::cue::{Cue, joins};
use crate::music::ConcertKey;
use crate::pattern::{Join, PatternId};
use crate::units::rank;
use crate::verdict::{Verdict, seams};

/// Number of tries that count as the latest.
const LATELY: usize = 6;
/// A join or key is weak where at least this share of its latest tries broke.
const WEAK: f64 = 1.0 / 3.0;

/// Number of free choruses without a pattern after which it counts as never used.
const NEVER: u32 = 3;
/// Most weak keys that come before the key of the form.
const WEAKEST: usize = 3;

/// What was tried in phrases, and what of it passed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct InUse {
    /// What is known of each pattern.
    pub(super) patterns: BTreeMap<PatternId, UsedPattern>,
    /// What is known of each join.
    pub(super) joins: BTreeMap<Join, UsedTries>,
    /// Whole phrases by the key of their chorus, by place on the circle of fifths.
    pub(super) keys: [UsedTries; 12],
    /// What came out of drilled patterns in free choruses.
    pub(super) free: BTreeMap<PatternId, PlayedFreely>,
}

/// A pattern in use.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct UsedPattern {
    /// The plain name of the pattern.
    pub title: String,
    /// The tries by the root of the chord over which the pattern stood, by place on the circle of fifths.
    pub(super) keys: [UsedTries; 12],
}

/// Tries in phrases.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct UsedTries {
    /// Number of all tries.
    pub tries: u32,
    /// Number of tries that passed.
    pub passed: u32,
    /// The latest tries, oldest first, at most six.
    pub(super) lately: Vec<UseTry>,
}

/// One try in a phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct UseTry {
    /// Calendar day.
    pub day: i32,
    /// Whether it passed.
    pub passed: bool,
}

/// The numbers for which a weak join or a weak key comes back more often.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Broke {
    /// How many of the latest tries broke.
    pub broke: u32,
    /// Number of the latest tries, at most six.
    pub tries: u32,
    /// Calendar day of the latest try.
    pub day: i32,
}

impl UsedPattern {
    /// The roots over which the pattern was tried, round the circle of fifths.
    pub fn tried(&self) -> impl Iterator<Item = (ConcertKey, &UsedTries)> {
        tried(&self.keys)
    }
}

fn tried(keys: &[UsedTries; 12]) -> impl Iterator<Item = (ConcertKey, &UsedTries)> {
    ConcertKey::FIFTHS.into_iter().zip(keys).filter(|(_, tries)| tries.tries > 0)
}

impl UsedTries {
    fn enter(&mut self, day: i32, passed: bool) {
        self.tries = self.tries.saturating_add(1);
        self.passed = self.passed.saturating_add(u32::from(passed));
        self.lately.push(UseTry { day, passed });
        self.keep_latest();
    }

    fn add(&mut self, later: &Self) {
        self.tries = self.tries.saturating_add(later.tries);
        self.passed = self.passed.saturating_add(later.passed);
        self.lately.extend(&later.lately);
        self.keep_latest();
    }

    fn keep_latest(&mut self) {
        let before = self.lately.len().saturating_sub(LATELY);
        self.lately.drain(..before);
    }

    /// Why this comes back more often; `None` where it is not weak.
    #[must_use]
    pub fn broke(&self) -> Option<Broke> {
        let (tries, day) = (self.lately.len() as u32, self.lately.last()?.day);
        let broke = self.lately.iter().filter(|it| !it.passed).count() as u32;
        let broke = Broke { broke, tries, day };
        (broke.broke > 0 && broke.share() >= WEAK).then_some(broke)
    }
}

impl Broke {
    /// The share of the latest tries that broke.
    #[must_use]
    pub fn share(&self) -> f64 {
        f64::from(self.broke) / f64::from(self.tries.max(1))
    }
}

impl InUse {
    /// Enters the answer to a line of joined patterns. Nothing is entered of an answer that never came or is another line, nor of a
    /// cue that joins no patterns. A pattern passes where all of its notes are right, a join where the notes on both sides are and no
    /// gap stands out there, a phrase where it is all right; each in the key that was asked, at the first attempt.
    pub fn enter(&mut self, cue: &Cue, verdict: &Verdict, day: i32) {
        if cue.joined.is_empty() || !verdict.related || verdict.played.is_empty() {
            return;
        }
        let as_asked = verdict.in_key() && verdict.attempts == 1;
        self.keys[cue.key.place()].enter(day, verdict.whole());
        for part in &cue.joined {
            let notes = verdict.expected.get(part.first..=part.last).unwrap_or_default();
            let passed = as_asked && !notes.is_empty() && notes.iter().all(|note| note.label.is_right());
            let used = self.patterns.entry(part.pattern.clone()).or_default();
            used.title.clone_from(&part.title);
            used.keys[part.key.place()].enter(day, passed);
        }
        let joins = joins(&cue.joined);
        let at = cue.seam_notes();
        let judged = seams(&at, verdict);
        for it in joins {
            if let Some(seam) = judged.iter().find(|seam| seam.note == it.note) {
                self.joins.entry(it.join).or_default().enter(day, as_asked && seam.passed());
            }
        }
    }

    /// Adds what was tried later.
    pub fn add(&mut self, later: &Self) {
        for (pattern, used) in &later.patterns {
            let mine = self.patterns.entry(pattern.clone()).or_default();
            mine.title.clone_from(&used.title);
            mine.keys.iter_mut().zip(&used.keys).for_each(|(mine, more)| mine.add(more));
        }
        for (join, used) in &later.joins {
            self.joins.entry(join.clone()).or_default().add(used);
        }
        self.keys.iter_mut().zip(&later.keys).for_each(|(mine, more)| mine.add(more));
        later.free.iter().for_each(|(pattern, it)| self.free.entry(pattern.clone()).or_default().add(it));
    }

    /// Enters a free chorus: what was looked for in it, and what came.
    pub fn enter_free(&mut self, chorus: &[CameOut]) {
        chorus.iter().for_each(|it| self.free.entry(it.pattern.clone()).or_default().add(&it.into()));
    }

    /// The drilled patterns that were looked for in free choruses.
    pub fn played_freely(&self) -> impl Iterator<Item = (&PatternId, &PlayedFreely)> {
        self.free.iter()
    }

    /// The patterns that hold in some key and came in none of three free choruses or more.
    pub fn never_used(&self) -> impl Iterator<Item = (&PatternId, &PlayedFreely)> {
        self.played_freely().filter(|(_, it)| it.held > 0 && it.came == 0 && it.choruses >= NEVER)
    }

    /// Whether nothing was tried, and no drilled pattern looked for in free choruses.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.patterns.is_empty() && self.free.is_empty()
    }

    /// The patterns, with what is known of them.
    pub fn patterns(&self) -> impl Iterator<Item = (&PatternId, &UsedPattern)> {
        self.patterns.iter()
    }

    /// The plain name of a pattern; its id where it is in no phrase.
    #[must_use]
    pub fn title<'a>(&'a self, pattern: &'a PatternId) -> &'a str {
        self.patterns.get(pattern).map_or(&pattern.0, |used| &used.title)
    }

    /// The joins that were tried, those first of which the largest share broke lately.
    #[must_use]
    pub fn joins(&self) -> Vec<(&Join, &UsedTries)> {
        let mut joins: Vec<_> = self.joins.iter().collect();
        joins.sort_by_cached_key(|(_, tries)| rank(-tries.broke().map_or(0.0, |it| it.share())));
        joins
    }

    /// The keys in which phrases were tried, round the circle of fifths.
    pub fn keys(&self) -> impl Iterator<Item = (ConcertKey, &UsedTries)> {
        tried(&self.keys)
    }

    /// The weak joins, the weakest first.
    #[must_use]
    pub fn weak_joins(&self) -> Vec<(Join, Broke)> {
        self.joins().into_iter().filter_map(|(join, tries)| Some((join.clone(), tries.broke()?))).collect()
    }

    /// The weak keys, the weakest first.
    #[must_use]
    pub fn weak_keys(&self) -> Vec<(ConcertKey, Broke)> {
        let mut keys: Vec<_> = self.keys().filter_map(|(key, tries)| Some((key, tries.broke()?))).collect();
        keys.sort_by_cached_key(|(_, broke)| rank(-broke.share()));
        keys
    }

    /// The keys of one chorus after another where nobody chose them. `usual` are those of the form: a round through several keys begins
    /// at the weakest of them; in place of a single key the weakest ones come first.
    #[must_use]
    pub fn keys_in_turn(&self, usual: &[ConcertKey]) -> Vec<ConcertKey> {
        let mut weak = self.weak_keys().into_iter().map(|(key, _)| key);
        if let [home] = usual {
            let weak: Vec<ConcertKey> = weak.take(WEAKEST).collect();
            return weak.iter().copied().chain(Some(*home).filter(|home| !weak.contains(home))).collect();
        }
        let begun = weak.find_map(|key| usual.iter().position(|other| *other == key)).unwrap_or(0);
        usual.iter().cycle().skip(begun).take(usual.len()).copied().collect()
    }
}

impl Broke {
    /// The reason for which a join comes, on a calendar day.
    #[must_use]
    pub const fn join(self, today: i32) -> Reason {
        Reason::WeakJoin { broke: self.broke, tries: self.tries, days: today.saturating_sub(self.day) }
    }

    /// The reason for which a key comes, on a calendar day.
    #[must_use]
    pub const fn key(self, today: i32) -> Reason {
        Reason::WeakKey { broke: self.broke, tries: self.tries, days: today.saturating_sub(self.day) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::LearnerModel;
    use crate::pattern::Seam;

    fn arch_into_run() -> Join {
        Join { before: PatternId("arch".to_owned()), after: PatternId("run".to_owned()), seam: Seam::HalfStep }
    }

    /// Tries of the join and, in Ab, of phrases, one a day.
    fn used(joins: &[bool], phrases: &[bool]) -> InUse {
        let mut used = InUse::default();
        joins
            .iter()
            .zip(1..)
            .for_each(|(passed, day)| used.joins.entry(arch_into_run()).or_default().enter(day, *passed));
        let ab = ConcertKey::FIFTHS[8];
        phrases.iter().zip(1..).for_each(|(passed, day)| used.keys[ab.place()].enter(day, *passed));
        used
    }

    #[test]
    fn a_join_that_broke_is_weak_until_it_has_passed_often_enough() {
        assert_eq!(used(&[true, true], &[]).weak_joins(), []);
        let broke = |tries: &[bool]| used(tries, &[]).weak_joins().first().map(|(_, it)| (it.broke, it.tries, it.day));
        assert_eq!(broke(&[false]), Some((1, 1, 1)));
        assert_eq!(broke(&[false, false, true, false]), Some((3, 4, 4)));
        assert_eq!(broke(&[false, false, true, false, true, true]), Some((3, 6, 6)));
        assert_eq!(broke(&[false, false, true, false, true, true, true, true]), None, "one of the latest six is rare");
        let all = used(&[false, false, true, false, true, true, true, true], &[]);
        assert_eq!(all.joins().first().map(|(_, it)| (it.passed, it.tries)), Some((5, 8)), "all tries stay counted");
    }

    #[test]
    fn where_nobody_chose_the_key_the_weakest_comes_first_and_a_round_stays_a_round() {
        let (c, ab) = (ConcertKey::FIFTHS[0], ConcertKey::FIFTHS[8]);
        let weak = used(&[], &[false, false]);
        assert_eq!(weak.keys_in_turn(&[c]), [ab, c]);
        assert_eq!(weak.keys_in_turn(&[ab]), [ab]);
        assert_eq!(InUse::default().keys_in_turn(&[c]), [c]);
        let round = weak.keys_in_turn(&ConcertKey::FIFTHS);
        assert_eq!((round[0], round[1], round[11]), (ab, ConcertKey::FIFTHS[9], ConcertKey::FIFTHS[7]));
    }

    #[test]
    fn what_is_added_later_counts_as_if_it_had_been_entered_in_order_and_bytes_give_it_back() {
        let (mut first, later) = (used(&[false, true], &[false]), used(&[false, false, false, false, true], &[true]));
        first.add(&later);
        let (_, tries) = first.joins().remove(0);
        assert_eq!((tries.tries, tries.passed), (7, 2));
        assert_eq!(tries.broke().map(|it| (it.broke, it.tries)), Some((4, 6)));
        first.patterns.entry(PatternId("arch".to_owned())).or_default().title = "an arch".to_owned();
        assert_eq!(InUse::from_bytes(&first.to_bytes()), Some(first.clone()));
        assert_eq!(InUse::from_bytes(&first.to_bytes()[1..]), None);
        let model = LearnerModel { in_use: first, ..LearnerModel::new() };
        assert_eq!(LearnerModel::from_bytes(&model.to_bytes()), Some(model));
    }

    fn chorus(held: u32, keys: &[usize]) -> Vec<CameOut> {
        let keys = keys.iter().map(|place| ConcertKey::FIFTHS[*place]).collect();
        let (pattern, title) = (PatternId("arch".to_owned()), "an arch".to_owned());
        vec![CameOut { pattern, title, since: 20_000, held, keys, broke: Vec::new() }]
    }

    #[test]
    fn what_holds_and_never_comes_in_three_choruses_is_never_used() {
        let mut used = InUse::default();
        let never = |used: &InUse| used.never_used().count();
        (0..2).for_each(|_| used.enter_free(&chorus(4, &[])));
        assert_eq!(never(&used), 0, "two choruses say nothing");
        used.enter_free(&chorus(4, &[]));
        assert_eq!(never(&used), 1);
        used.enter_free(&chorus(0, &[]));
        assert_eq!(never(&used), 0, "what holds in no key now is not brought into phrases");
        used.enter_free(&chorus(4, &[3, 0, 3]));
        assert_eq!(never(&used), 0);
        let (_, it) = used.played_freely().next().unwrap();
        assert_eq!((it.came, it.choruses), (1, 5));
        let keys: Vec<_> = it.keys().collect();
        assert_eq!(keys, [(ConcertKey::FIFTHS[0], 1), (ConcertKey::FIFTHS[3], 1)], "a chorus counts once for each key");
        assert_eq!(InUse::from_bytes(&used.to_bytes()), Some(used));
    }
}
