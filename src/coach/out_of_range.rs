use std::collections::BTreeMap;

use crate::music::{ConcertKey, Range};
use crate::pattern::{self, Pattern, PatternId, Register};

/// Pairs of a pattern and a key for which no octave lies inside the player's range. They are never asked; all other pairs may be.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OutOfRange(BTreeMap<PatternId, Vec<ConcertKey>>);

/// Keys in which the same patterns do not fit the range, to be told in one sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misfit {
    /// The keys, as they sound.
    pub keys: Vec<ConcertKey>,
    /// Names of the patterns that do not fit in these keys.
    pub patterns: Vec<String>,
    /// Number of the sitting's other patterns, which do fit in these keys.
    pub others: usize,
}

impl OutOfRange {
    /// The pairs that do not fit into `range`. What fits in one register fits in all: the register chooses among the octaves
    /// that fit.
    #[must_use]
    pub fn of<'a>(patterns: impl IntoIterator<Item = &'a Pattern>, keys: &[ConcertKey], range: Range) -> Self {
        let fits = |pattern: &Pattern, key| pattern::realise(pattern, key, None, range, Register::Middle).is_ok();
        let out = |pattern: &'a Pattern| {
            keys.iter().filter(move |key| !fits(pattern, **key)).map(|key| (pattern.id.clone(), *key))
        };
        patterns.into_iter().flat_map(out).collect()
    }

    /// Whether a pattern does not fit in a key.
    #[must_use]
    pub fn contains(&self, pattern: &PatternId, key: ConcertKey) -> bool {
        self.0.get(pattern).is_some_and(|keys| keys.contains(&key))
    }

    /// The patterns that do not fit everywhere, each with the keys in which it does not.
    pub fn iter(&self) -> impl Iterator<Item = (&PatternId, &[ConcertKey])> {
        self.0.iter().map(|(pattern, keys)| (pattern, keys.as_slice()))
    }

    /// The keys in which patterns do not fit; keys with the same such patterns are put together. `patterns` are those of the
    /// sitting with their names.
    #[must_use]
    pub fn misfits<'a>(&self, patterns: impl IntoIterator<Item = (&'a PatternId, &'a str)>) -> Vec<Misfit> {
        let patterns: Vec<(&PatternId, &str)> = patterns.into_iter().collect();
        let mut found: Vec<Misfit> = Vec::new();
        for key in ConcertKey::FIFTHS {
            let out = patterns.iter().filter(|(id, _)| self.contains(id, key));
            let out: Vec<String> = out.map(|(_, name)| (*name).to_owned()).collect();
            match found.iter_mut().find(|misfit| misfit.patterns == out) {
                _ if out.is_empty() => {}
                Some(misfit) => misfit.keys.push(key),
                None => found.push(Misfit { keys: vec![key], others: patterns.len() - out.len(), patterns: out }),
            }
        }
        found
    }
}

impl FromIterator<(PatternId, ConcertKey)> for OutOfRange {
    fn from_iter<T: IntoIterator<Item = (PatternId, ConcertKey)>>(pairs: T) -> Self {
        let mut out_of_range = Self::default();
        for (pattern, key) in pairs {
            let keys = out_of_range.0.entry(pattern).or_default();
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        out_of_range
    }
}
