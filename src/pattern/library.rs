use std::collections::BTreeMap;
use std::ops::RangeInclusive;
use std::sync::LazyLock;

use crate::music::slips;
use crate::pattern::file::read;
use crate::pattern::model::{Family, Pattern, PatternId};
use crate::pattern::quality::Quality;
use crate::pattern::trouble::Trouble;

/// The files that come with the program.
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
}

/// No pattern of that name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no pattern is called `{asked}`{}", suggestion(nearest))]
pub struct UnknownPattern {
    /// What was asked for.
    pub asked: String,
    /// Up to three ids that are near, nearest first.
    pub nearest: Vec<PatternId>,
}

fn suggestion(nearest: &[PatternId]) -> String {
    let ids: Vec<&str> = nearest.iter().map(|id| id.0.as_str()).collect();
    if ids.is_empty() { String::new() } else { format!("; near it: {}", ids.join(", ")) }
}

/// What a list of patterns is narrowed to; `None` lets everything pass.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wanted {
    /// One family.
    pub family: Option<Family>,
    /// Levels, both ends included.
    pub level: Option<RangeInclusive<u8>>,
    /// A chord it fits: named by the pattern, among its chords, or any.
    pub over: Option<Quality>,
    /// Number of notes, both ends included.
    pub notes: Option<RangeInclusive<usize>>,
}

impl Wanted {
    /// Whether a pattern passes.
    #[must_use]
    pub fn passes(&self, pattern: &Pattern) -> bool {
        let over = |quality: Quality| {
            let sections = pattern.sections();
            (pattern.over.is_empty() && sections.is_empty())
                || pattern.over.contains(&quality)
                || sections.iter().any(|section| section.root.quality == quality)
        };
        self.family.is_none_or(|family| pattern.family == family)
            && self.level.as_ref().is_none_or(|level| level.contains(&pattern.level))
            && self.over.is_none_or(over)
            && self.notes.as_ref().is_none_or(|notes| notes.contains(&pattern.steps().len()))
    }
}

impl Library {
    /// The patterns that come with the program, read once.
    #[must_use]
    pub fn builtin() -> &'static Self {
        &LIBRARY
    }
    /// Reads pattern files (name and text). Of two patterns with one id in different files the later replaces the earlier,
    /// so that a player's own version wins; troubles are those of all files.
    #[must_use]
    pub fn load<'f>(files: impl IntoIterator<Item = (&'f str, &'f str)>) -> (Self, Vec<Trouble>) {
        let mut library = Self::default();
        let mut troubles = Vec::new();
        for (file, text) in files {
            let (patterns, mut wrong) = read(text, file);
            patterns.into_iter().for_each(|pattern| library.add(pattern));
            troubles.append(&mut wrong);
        }
        (library, troubles)
    }
    /// The built-in patterns and those of the player's own files.
    #[must_use]
    pub fn with_own<'f>(files: impl IntoIterator<Item = (&'f str, &'f str)>) -> (Self, Vec<Trouble>) {
        let (own, troubles) = Self::load(files);
        let mut library = Self::builtin().clone();
        own.patterns.into_iter().for_each(|pattern| library.add(pattern));
        (library, troubles)
    }
    /// Adds a pattern, in place of one with the same id.
    pub fn add(&mut self, pattern: Pattern) {
        match self.places.get(&pattern.id) {
            Some(place) => self.patterns[*place] = pattern,
            None => {
                self.places.insert(pattern.id.clone(), self.patterns.len());
                self.patterns.push(pattern);
            }
        }
    }
    /// All patterns, in the order of their files.
    #[must_use]
    pub fn patterns(&self) -> &[Pattern] {
        &self.patterns
    }
    /// The pattern of this id.
    #[must_use]
    pub fn get(&self, id: &PatternId) -> Option<&Pattern> {
        self.places.get(id).map(|place| &self.patterns[*place])
    }
    /// The pattern meant by what was typed: its id, or its name, in any case, blanks for dashes.
    ///
    /// # Errors
    /// [`UnknownPattern`] with the nearest ids.
    pub fn find(&self, typed: &str) -> Result<&Pattern, UnknownPattern> {
        let asked = typed.trim().to_lowercase();
        let as_id = asked.replace([' ', '_'], "-");
        let found = self.get(&PatternId(as_id.clone())).or_else(|| {
            self.patterns.iter().find(|pattern| pattern.id.0 == asked || pattern.name.to_lowercase() == asked)
        });
        found.ok_or_else(|| {
            let mut near: Vec<(usize, &PatternId)> =
                self.patterns.iter().map(|pattern| (away(&as_id, pattern), &pattern.id)).collect();
            near.sort_by_key(|(away, _)| *away);
            let within = as_id.chars().count() / 2 + 1;
            let nearest =
                near.into_iter().filter(|(away, _)| *away <= within).take(3).map(|(_, id)| id.clone()).collect();
            UnknownPattern { asked: typed.trim().to_owned(), nearest }
        })
    }
    /// The patterns that pass, in order.
    #[must_use]
    pub fn select(&self, wanted: &Wanted) -> Vec<&Pattern> {
        self.patterns.iter().filter(|pattern| wanted.passes(pattern)).collect()
    }
}

/// How far a pattern's id is from what was typed; an id that contains it is near by its first place.
fn away(asked: &str, pattern: &Pattern) -> usize {
    match pattern.id.0.find(asked) {
        Some(at) if !asked.is_empty() => at.min(1),
        _ => slips(asked, &pattern.id.0),
    }
}
