use crate::backing::LEAD_IN;
use crate::chart::Chorus;
use crate::cue::Cue;
use crate::music::ConcertKey;
use crate::notes::HeardNote;
use crate::pattern::Line;
use crate::phrase::Phrase;
use crate::trade::plan::{Trade, TradeWish, exchange};
use crate::units::{Beats, Seconds};

/// What was heard in a free chorus. Nothing was asked, so nothing is judged.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeChorus {
    /// The notes in the order of their onsets, from a bar before the chorus (a pick-up) to a beat after it. Like all that is heard, they
    /// still have the delay of the devices in them.
    pub heard: Vec<HeardNote>,
    /// When bar 1 of the chorus began, on the clock of what is heard, without that delay.
    pub begins: Seconds,
    /// When the chorus ends on that clock, also where it was broken off.
    pub ends: Seconds,
    /// Up to when it was heard: before `ends` where it was broken off.
    pub until: Seconds,
}

impl Trade {
    /// Free choruses over a form: the band plays, nothing is asked and nothing judged. A form that goes round the keys is played whole.
    #[must_use]
    pub fn free(wish: &TradeWish<'_>) -> Self {
        let minor = wish.form.chart.is_minor();
        let mut trade = Self::empty(wish.tempo, 0);
        let mut begins = Beats(f64::from(LEAD_IN * wish.form.chart.meter()));
        for (number, key) in (1..).zip(wish.keys.iter().cycle().take(wish.choruses as usize)) {
            let form = wish.form.in_key(key.0, false).chorus();
            if wish.rests && number > 1 {
                begins = trade.enter(*key, minor, Vec::new(), &form, begins);
            }
            begins = trade.enter(*key, minor, Vec::new(), &form, begins);
            if let Some(round) = trade.rounds.last_mut() {
                round.free = Some(unasked(wish, &form, number, *key));
            }
        }
        trade
    }

    /// Whether the choruses are free.
    #[must_use]
    pub fn is_free(&self) -> bool {
        self.rounds.iter().any(|round| round.free.is_some())
    }

    /// Number of bars of the form, of which a trade of phrases plays each one twice.
    #[must_use]
    pub fn bars_of(&self, form: &Chorus) -> u32 {
        if self.is_free() { form.bars } else { form.bars / 2 }
    }

    /// What a simulated player still plays in free choruses, each line with its beat.
    pub fn improvised(&self) -> impl Iterator<Item = (&Cue, Beats)> {
        let rounds = self.rounds.iter().skip(self.from);
        rounds.flat_map(|round| round.improvised.iter().map(|(cue, at)| (cue, round.begins + *at)))
    }

    /// The first cue that is still to come, or what stands for it in a free chorus.
    #[must_use]
    pub fn first(&self) -> Option<&Cue> {
        self.exchanges()
            .map(|exchange| &exchange.cue)
            .next()
            .or_else(|| self.rounds.iter().skip(self.from).find_map(|round| round.free.as_ref()))
    }
}

/// What stands for the cue of a free chorus.
fn unasked(wish: &TradeWish<'_>, form: &Chorus, number: u32, key: ConcertKey) -> Cue {
    let line = Line { notes: Vec::new(), length: Beats(f64::from(form.beats())) };
    let phrase = Phrase { pieces: Vec::new(), line, landing: None, landing_apart: false, wanted: None };
    exchange(wish, form, (number, 0), Beats(0.0), key, phrase).cue
}
