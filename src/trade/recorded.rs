use std::collections::BTreeMap;

use crate::backing::LEAD_IN;
use crate::cue::Cue;
use crate::music::ConcertKey;
use crate::pattern::{Line, swing_at};
use crate::phrase::Phrase;
use crate::trade::plan::{Exchange, Trade, TradeWish, exchange};
use crate::trade::way::TradeWay;
use crate::units::Beats;

/// A phrase of a trade that was recorded.
#[derive(Debug, Clone)]
pub struct PhraseAgain {
    /// What was asked.
    pub cue: Cue,
    /// The first bar of the form that the phrase lies over, counted from 0.
    pub first_bar: u32,
    /// The whole phrase with even eighths.
    pub line: Line,
}

impl Trade {
    /// A trade that was recorded, planned once more: `keys` are those of all choruses, of rest too, and `phrases` are those of each
    /// chorus by its place. What the phrases were made of is not recorded, so they have no pieces and no landing.
    #[must_use]
    pub fn recorded(wish: &TradeWish<'_>, keys: &[ConcertKey], phrases: &BTreeMap<usize, Vec<PhraseAgain>>) -> Self {
        let minor = wish.form.chart.is_minor();
        let mut trade = Self::empty(wish.tempo, wish.bars.max(1));
        let mut begins = Beats(f64::from(LEAD_IN * wish.form.chart.meter()));
        for (place, key) in keys.iter().enumerate() {
            let once = wish.form.chart.in_key(wish.form.chart.tonality(key.0, false).tonic).chorus();
            let of_chorus = phrases.get(&place).into_iter().flatten().filter(|phrase| phrase.first_bar < once.bars);
            let exchanges = of_chorus.map(|again| {
                let at = (again.cue.number, again.first_bar);
                let phrase = Phrase {
                    pieces: Vec::new(),
                    line: again.line.clone(),
                    landing: None,
                    landing_apart: false,
                    wanted: None,
                };
                asked_again(
                    exchange(&TradeWish { way: TradeWay::Answer, ..*wish }, &once, at, begins, *key, phrase),
                    wish,
                    again,
                )
            });
            let exchanges = exchanges.collect();
            begins = trade.enter(*key, minor, exchanges, &once.each_twice(wish.bars), begins);
        }
        trade
    }
}

/// The exchange with the cue that was recorded. Of a phrase that was to be finished, what its cue does not ask was sounded.
fn asked_again(made: Exchange, wish: &TradeWish<'_>, again: &PhraseAgain) -> Exchange {
    let mut lead = if wish.swing { again.line.swung(swing_at(wish.tempo), Beats(0.0)) } else { again.line.clone() };
    if wish.way == TradeWay::Finish {
        lead.notes.truncate(lead.notes.len().saturating_sub(again.cue.line.notes.len()));
    }
    Exchange { cue: again.cue.clone(), lead, way: wish.way, ..made }
}
