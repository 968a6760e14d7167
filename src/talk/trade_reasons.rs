//! Why a phrase was made, and why a chorus stands in its key: by what broke in phrases before, and what holds and never came in free playing.

use crate::coach::{Broke, InUse, PlayedFreely, Reason};
use crate::music::{ConcertKey, Mode};
use crate::pattern::{Join, PatternId};
use crate::phrase::WantedPiece;
use crate::trade::Exchange;
use crate::words::reason::sentence;
use crate::words::{Page, in_use};

/// What broke in phrases before this trade.
#[derive(Debug, Clone, PartialEq)]
pub struct TradeReasons {
    /// The weak joins, with their patterns by name.
    joins: Vec<(Join, Broke, String)>,
    /// The patterns that hold and were never used in free choruses, each with its name and the reason.
    unused: Vec<(PatternId, Reason, String)>,
    /// The weak keys, where they had a say.
    keys: Vec<(ConcertKey, Broke)>,
    /// The calendar day of the trade.
    today: i32,
}

impl TradeReasons {
    /// What broke; `open_key` says that nobody chose the keys, so that weak ones came first.
    pub fn new(used: &InUse, open_key: bool, today: i32) -> Self {
        let named = |(join, broke): (Join, Broke)| {
            let name = in_use::join(&join, used);
            (join, broke, name)
        };
        let joins = used.weak_joins().into_iter().map(named).collect();
        let never = |(pattern, it): (&PatternId, &PlayedFreely)| {
            let why = Reason::NeverUsed { held: it.held, choruses: it.choruses };
            (pattern.clone(), why, it.title.clone())
        };
        Self {
            joins,
            unused: used.never_used().map(never).collect(),
            keys: if open_key { used.weak_keys() } else { Vec::new() },
            today,
        }
    }

    /// The reason for which a phrase was asked.
    pub fn of(&self, exchange: &Exchange) -> Reason {
        let wanted = self.wanted(exchange).map(|(why, _)| why);
        wanted.or_else(|| self.key(exchange.cue.key)).unwrap_or(Reason::Turn)
    }

    /// Why a phrase was made, in words; `None` where it was drawn freely.
    pub fn of_join(&self, exchange: &Exchange, page: &Page) -> Option<String> {
        let (why, name) = self.wanted(exchange)?;
        let why = sentence(&why, exchange.cue.key, Mode::Major, page, Some(self.today));
        Some(format!("{why} ({name})"))
    }

    /// Why a chorus stands in this key, in words; `None` where that has no reason of its own.
    pub fn of_key(&self, key: ConcertKey, page: &Page) -> Option<String> {
        self.key(key).map(|why| sentence(&why, key, Mode::Major, page, Some(self.today)))
    }

    /// Why the beginning of a phrase was wanted, and the name of the join or pattern.
    fn wanted(&self, exchange: &Exchange) -> Option<(Reason, &str)> {
        match exchange.phrase.wanted.as_ref()? {
            WantedPiece::Join(wanted) => {
                let (_, broke, name) = self.joins.iter().find(|(join, ..)| join == wanted)?;
                Some((broke.join(self.today), name))
            }
            WantedPiece::Pattern(wanted) => {
                let (_, why, name) = self.unused.iter().find(|(pattern, ..)| pattern == wanted)?;
                Some((*why, name))
            }
        }
    }

    fn key(&self, key: ConcertKey) -> Option<Reason> {
        self.keys.iter().find(|(weak, _)| *weak == key).map(|(_, broke)| broke.key(self.today))
    }
}
