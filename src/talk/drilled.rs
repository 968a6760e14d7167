//! What is drilled, looked for in free choruses.

use crate::coach::{CameOut, Goals, LearnerModel, Rng};
use crate::free::{FreeLine, FreeVocabulary, LookedFor, came_whole};
use crate::music::ConcertKey;
use crate::notes::HeardNote;
use crate::pattern::{Library, Pattern};
use crate::units::Tempo;

/// Most patterns that are looked for, those of which most keys hold first: a chorus is looked through while the band plays on.
const MOST: usize = 60;

/// The patterns that were answered in drills.
#[derive(Default)]
pub struct DrilledPatterns(Vec<DrilledPattern>);

struct DrilledPattern {
    pattern: Pattern,
    since: i32,
    held: u32,
}

impl DrilledPatterns {
    /// The patterns of the library that the learner answered.
    pub fn of(library: &Library, learner: &LearnerModel, goals: &Goals) -> Self {
        let drilled = |pattern: &Pattern| {
            let keys = || ConcertKey::FIFTHS.into_iter();
            let days = keys().filter_map(|key| Some(learner.key_stats(&pattern.id, key).days().first()?.day));
            let held = keys().filter(|key| learner.holds(&pattern.id, *key, goals).is_some()).count() as u32;
            Some(DrilledPattern { pattern: pattern.clone(), since: days.min()?, held })
        };
        let mut all: Vec<DrilledPattern> = library.patterns().iter().filter_map(drilled).collect();
        all.sort_by_key(|it| std::cmp::Reverse(it.held));
        all.truncate(MOST);
        Self(all)
    }

    /// What came out of them in a free chorus. The seed is fixed, so that the same notes always give the same result.
    pub fn came_out(&self, heard: &[HeardNote], tempo: Tempo, library: &Library) -> Vec<CameOut> {
        let looked: Vec<&Pattern> = self.0.iter().map(|it| &it.pattern).collect();
        let Ok(line) = FreeLine::heard(heard, Some(tempo)) else { return Vec::new() };
        if looked.is_empty() {
            return Vec::new();
        }
        let mut rng = Rng::new(1);
        let wanted = LookedFor { patterns: &looked, practised: true };
        let found = FreeVocabulary::of(&line, wanted, library, &mut || rng.uniform());
        let one = |(it, whole): (&DrilledPattern, Vec<ConcertKey>)| {
            let places =
                || found.patterns.iter().filter(|one| one.pattern.id == it.pattern.id).flat_map(|one| &one.places);
            let keys = |broken: bool| {
                let there = |key: &ConcertKey| {
                    let named = places().any(|place| place.broken == broken && place.key == *key);
                    named || !broken && whole.contains(key)
                };
                ConcertKey::FIFTHS.into_iter().filter(there).collect()
            };
            CameOut {
                pattern: it.pattern.id.clone(),
                title: it.pattern.name.clone(),
                since: it.since,
                held: it.held,
                keys: keys(false),
                broke: keys(true),
            }
        };
        self.0.iter().zip(came_whole(&line, &looked)).map(one).collect()
    }
}
