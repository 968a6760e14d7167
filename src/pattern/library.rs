use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::music::slips;
use crate::pattern::file::read;
use crate::pattern::model::{Pattern, PatternId};
use crate::pattern::query::PatternQuery;
use crate::pattern::trouble::PatternTrouble;

/// Names and texts of the pattern files that come with the program.
const BUILT_IN: [(&str, &str); 4] = [
    ("stepwise.toml", include_str!("../../assets/patterns/stepwise.toml")),
    ("half-steps.toml", include_str!("../../assets/patterns/half-steps.toml")),
    ("skips.toml", include_str!("../../assets/patterns/skips.toml")),
    ("phrase.toml", include_str!("../../assets/patterns/phrase.toml")),
];

static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::load(BUILT_IN).0);

/// Patterns by id, in the order of their files.
#[derive(Debug, Clone, Default)]
pub struct Library {
    patterns: Vec<Pattern>,
    places: BTreeMap<PatternId, usize>,
    /// The index of each pattern by its name as it is typed.
    names: BTreeMap<String, usize>,
}

/// No pattern has the name that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no pattern is called `{asked}`{}", suggestion(nearest))]
pub struct UnknownPattern {
    /// What was asked for, without blanks around it.
    pub asked: String,
    /// Up to three ids that are like what was asked for, the most similar first.
    pub nearest: Vec<PatternId>,
}

fn suggestion(nearest: &[PatternId]) -> String {
    let ids: Vec<&str> = nearest.iter().map(|id| id.0.as_str()).collect();
    if ids.is_empty() { String::new() } else { format!("; near it: {}", ids.join(", ")) }
}

/// Ids that patterns had before, each with its id now. Records of sittings keep the old id of a pattern, with the notes that were
/// asked then.
const RENAMED: [(&str, &str); 2] = [
    ("triads-on-iv-and-v", "triads-on-iv-and-bvii"),
    ("quarter-triplets-down-the-minor-scale", "quarter-triplets-down-in-dorian"),
];

/// The ids of the patterns for a first sitting: a short one by steps, one by skips and one by half steps.
const FIRST: [&str; 3] = ["five-note-row-up-and-down", "major-triad-up", "four-half-steps-up"];

impl Library {
    /// The patterns of a first sitting for which none is named; in a library with none of these, its first pattern.
    #[must_use]
    pub fn for_a_first_sitting(&self) -> Vec<Pattern> {
        let found: Vec<Pattern> =
            FIRST.iter().filter_map(|id| self.get(&PatternId((*id).to_owned()))).cloned().collect();
        if found.is_empty() { self.patterns.first().cloned().into_iter().collect() } else { found }
    }
    /// The patterns that come with the program, read once.
    #[must_use]
    pub fn builtin() -> &'static Self {
        &LIBRARY
    }
    /// Reads pattern files, each given as name and text, and hands back all their troubles. Of two patterns with the same id in
    /// different files the later replaces the earlier.
    #[must_use]
    pub fn load<'f>(files: impl IntoIterator<Item = (&'f str, &'f str)>) -> (Self, Vec<PatternTrouble>) {
        let mut library = Self::default();
        let mut troubles = Vec::new();
        for (file, text) in files {
            let (patterns, mut wrong) = read(text, file);
            patterns.into_iter().for_each(|pattern| library.add(pattern));
            troubles.append(&mut wrong);
        }
        (library, troubles)
    }
    /// The built-in patterns and those of the player's own files; an own pattern replaces a built-in one with the same id.
    #[must_use]
    pub fn with_own<'f>(files: impl IntoIterator<Item = (&'f str, &'f str)>) -> (Self, Vec<PatternTrouble>) {
        let (own, troubles) = Self::load(files);
        let mut library = Self::builtin().clone();
        own.patterns.into_iter().for_each(|pattern| library.add(pattern));
        (library, troubles)
    }
    /// Adds a pattern; where one has the same id, the new pattern takes its place.
    pub fn add(&mut self, pattern: Pattern) {
        let place = self.places.get(&pattern.id).copied().unwrap_or(self.patterns.len());
        self.names.entry(as_typed(&pattern.name)).or_insert(place);
        match self.patterns.get_mut(place) {
            Some(there) => *there = pattern,
            None => {
                self.places.insert(pattern.id.clone(), place);
                self.patterns.push(pattern);
            }
        }
    }
    /// All patterns, in the order of their files.
    #[must_use]
    pub fn patterns(&self) -> &[Pattern] {
        &self.patterns
    }
    /// The pattern with this id; where a pattern had the id before, that pattern under its id now.
    #[must_use]
    pub fn get(&self, id: &PatternId) -> Option<&Pattern> {
        let now = || RENAMED.iter().find(|row| row.0 == id.0).map(|row| PatternId(row.1.to_owned()));
        let place = self.places.get(id).or_else(|| self.places.get(&now()?));
        place.and_then(|place| self.patterns.get(*place))
    }
    /// What a player types for a pattern: its name in small letters, digits and dashes, where [`Library::find`] finds the pattern by that
    /// name, else its id.
    #[must_use]
    pub fn typed(&self, pattern: &Pattern) -> String {
        let name = as_typed(&pattern.name);
        if self.find(&name).is_ok_and(|found| found.id == pattern.id) { name } else { pattern.id.0.clone() }
    }
    /// The other patterns that sound the same, note for note, when they begin on the same note.
    #[must_use]
    pub fn sounding_as(&self, pattern: &Pattern) -> Vec<&Pattern> {
        let same = |other: &&Pattern| other.id != pattern.id && other.sounds_as(pattern);
        self.patterns.iter().filter(same).collect()
    }
    /// The pattern whose id or name was typed, in capitals or small letters; dashes may stand for blanks and other signs.
    ///
    /// # Errors
    /// [`UnknownPattern`] with the nearest ids.
    pub fn find(&self, typed: &str) -> Result<&Pattern, UnknownPattern> {
        let asked = typed.trim().to_lowercase();
        let as_id = asked.replace([' ', '_'], "-");
        let found = self.get(&PatternId(as_id.clone())).or_else(|| {
            let name = self.patterns.iter().find(|pattern| pattern.name.to_lowercase() == asked);
            name.or_else(|| self.patterns.get(*self.names.get(&as_typed(&asked))?))
        });
        found.ok_or_else(|| {
            let mut near: Vec<(usize, &PatternId)> =
                self.patterns.iter().map(|pattern| (away(&as_id, pattern), &pattern.id)).collect();
            near.sort_by_cached_key(|(away, _)| *away);
            let within = as_id.chars().count() / 2 + 1;
            let nearest =
                near.into_iter().filter(|(away, _)| *away <= within).take(3).map(|(_, id)| id.clone()).collect();
            UnknownPattern { asked: typed.trim().to_owned(), nearest }
        })
    }
    /// The patterns that pass the query, in the order of their files.
    #[must_use]
    pub fn select(&self, wanted: &PatternQuery) -> Vec<&Pattern> {
        self.patterns.iter().filter(|pattern| wanted.passes(pattern)).collect()
    }
}

/// A name in small letters, digits and dashes, as an id is written; `#` becomes the word "sharp", and one dash stands for all other signs
/// in a row.
fn as_typed(name: &str) -> String {
    let mut typed = String::new();
    for c in name.to_lowercase().chars() {
        match c {
            'a'..='z' | '0'..='9' => typed.push(c),
            '#' => typed.push_str(if typed.is_empty() || typed.ends_with('-') { "sharp-" } else { "-sharp-" }),
            _ if typed.is_empty() || typed.ends_with('-') => {}
            _ => typed.push('-'),
        }
    }
    typed.trim_end_matches('-').to_owned()
}

/// How far a pattern's id is from what was typed: 0 where the id begins so, 1 where the id has it further on, else the number of slips
/// between the two, or one more than the slips in the beginning of a longer id.
fn away(asked: &str, pattern: &Pattern) -> usize {
    let id = &pattern.id.0;
    if let Some(at) = id.find(asked).filter(|_| !asked.is_empty()) {
        return at.min(1);
    }
    let begin: String = id.chars().take(asked.chars().count()).collect();
    slips(asked, id).min(slips(asked, &begin) + 1)
}
