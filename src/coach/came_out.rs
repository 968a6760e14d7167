//! Drilled patterns in free playing: what came out of them, and what is held and never used.

use crate::music::ConcertKey;
use crate::pattern::PatternId;

/// A drilled pattern in one free chorus, in which it was looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CameOut {
    /// The pattern.
    pub pattern: PatternId,
    /// The plain name of the pattern.
    pub title: String,
    /// The day on which the pattern was first answered, days since 1970-01-01.
    pub since: i32,
    /// Number of keys in which the pattern held when the chorus was played.
    pub held: u32,
    /// The keys in which it came, whole or with one note changed, round the circle of fifths.
    pub keys: Vec<ConcertKey>,
    /// The keys in which it broke off.
    pub broke: Vec<ConcertKey>,
}

/// A drilled pattern in all free choruses.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlayedFreely {
    /// The plain name of the pattern.
    pub title: String,
    /// The day on which the pattern was first answered, days since 1970-01-01.
    pub since: i32,
    /// Number of keys in which the pattern held when the latest chorus was played.
    pub held: u32,
    /// Number of choruses in which it was looked for.
    pub choruses: u32,
    /// Number of choruses in which it came.
    pub came: u32,
    /// Number of choruses in which it came, by key and place on the circle of fifths.
    pub(super) keys: [u32; 12],
    /// Number of choruses in which it broke off, by key and place on the circle of fifths.
    pub(super) broke: [u32; 12],
}

impl PlayedFreely {
    /// The keys in which it came, round the circle of fifths.
    pub fn keys(&self) -> impl Iterator<Item = (ConcertKey, u32)> {
        counted(&self.keys)
    }

    /// The keys in which it broke off, round the circle of fifths.
    pub fn broke(&self) -> impl Iterator<Item = (ConcertKey, u32)> {
        counted(&self.broke)
    }

    /// Adds what was played later.
    pub(super) fn add(&mut self, later: &Self) {
        self.title.clone_from(&later.title);
        self.since = if self.choruses == 0 { later.since } else { self.since.min(later.since) };
        self.held = later.held;
        self.choruses = self.choruses.saturating_add(later.choruses);
        self.came = self.came.saturating_add(later.came);
        let both = self.keys.iter_mut().chain(&mut self.broke).zip(later.keys.iter().chain(&later.broke));
        both.for_each(|(mine, more)| *mine = mine.saturating_add(*more));
    }
}

fn counted(keys: &[u32; 12]) -> impl Iterator<Item = (ConcertKey, u32)> {
    ConcertKey::FIFTHS.into_iter().zip(*keys).filter(|(_, count)| *count > 0)
}

impl From<&CameOut> for PlayedFreely {
    fn from(it: &CameOut) -> Self {
        let here = |keys: &[ConcertKey]| ConcertKey::FIFTHS.map(|key| u32::from(keys.contains(&key)));
        let (keys, broke) = (here(&it.keys), here(&it.broke));
        let came = u32::from(!it.keys.is_empty());
        Self { title: it.title.clone(), since: it.since, held: it.held, choruses: 1, came, keys, broke }
    }
}
