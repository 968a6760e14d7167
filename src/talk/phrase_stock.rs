//! Which patterns are joined to phrases.

use crate::coach::{Goals, LearnerModel};
use crate::music::ConcertKey;
use crate::pattern::{Library, Pattern, PatternQuery};
use crate::phrase::Stock;
use crate::talk::failure::Failure;
use crate::talk::library::pattern;
use crate::words::numbers::counted;

/// Share of the goal's tempo that a pattern must have reached in some key to be nearly held.
const NEARLY: f64 = 0.8;
/// Highest level of the library's patterns that are joined where fewer than two patterns hold or nearly, and fewer than two were
/// played today.
pub(super) const EASY: u8 = 2;

/// What was typed of the patterns to join.
pub struct StockWish<'t> {
    /// The patterns that were named.
    pub named: &'t [String],
    /// Where none was named: the highest level of the library's patterns, if one is given.
    pub up_to: Option<u8>,
}

/// The patterns that are joined, and in words which.
pub fn stock(
    wish: &StockWish<'_>,
    library: &Library,
    learner: &LearnerModel,
    goals: &Goals,
) -> Result<(Stock, String), Failure> {
    if !wish.named.is_empty() {
        let named = wish.named.iter().map(|name| pattern(library, name.trim()));
        let named = named.collect::<Result<Vec<Pattern>, Failure>>()?;
        let stock = Stock::of(&named);
        if stock.is_empty() {
            let mend = "Name patterns over one chord, of 3 to 12 notes: earfirst patterns list --longest 12.";
            return Err(Failure::usage("none of these patterns can be a part of a phrase", mend));
        }
        return Ok((stock, "the patterns you named".to_owned()));
    }
    let up_to = |level: u8| library.select(&PatternQuery { level: Some(1..=level), ..PatternQuery::default() });
    if let Some(level) = wish.up_to {
        return Ok((Stock::of(up_to(level)), format!("the library's patterns up to level {level}")));
    }
    let all = library.select(&PatternQuery::default());
    let holds = |pattern: &&Pattern| {
        ConcertKey::FIFTHS.into_iter().any(|key| {
            let reached = learner.key_stats(&pattern.id, key).reached();
            let near = reached.is_some_and(|tempo| tempo.0 >= NEARLY * goals.tempo.0);
            near || learner.holds(&pattern.id, key, goals).is_some()
        })
    };
    let held = Stock::of(all.iter().copied().filter(holds));
    if held.len() >= 2 {
        let named = format!("{} of yours that hold or nearly", counted(held.len(), "pattern"));
        return Ok((held, named));
    }
    let played = |pattern: &&Pattern| {
        ConcertKey::FIFTHS.into_iter().any(|key| learner.key_stats(&pattern.id, key).answers_today() > 0)
    };
    let mut today: Vec<&Pattern> = all.iter().copied().filter(played).collect();
    today.sort_by_cached_key(|pattern| i64::from(pattern.level));
    today.retain(|pattern| !Stock::of([*pattern]).is_empty());
    today.truncate(2);
    if today.len() == 2 {
        return Ok((Stock::of(today), "the two easiest patterns you played today".to_owned()));
    }
    Ok((Stock::of(up_to(EASY)), "the library's easy patterns, for none of yours holds yet".to_owned()))
}
