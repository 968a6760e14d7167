use crate::backing::LEAD_IN;
use crate::chart::{Chorus, NamedChart, Numeral};
use crate::cue::{Cue, Form, JoinedPart, Timing};
use crate::music::{ConcertKey, Mode, PitchClass, Range, Spelling};
use crate::pattern::{Line, Meter, PatternId, Register, swing_at};
use crate::phrase::{Ground, JoinedPiece, NoPhrase, Phrase, PhraseMaker};
use crate::trade::way::{TradeWay, halves};
use crate::units::{Beats, Tempo};

/// How a form is traded.
#[derive(Debug, Clone, Copy)]
pub struct TradeWish<'a> {
    /// The form.
    pub form: &'a NamedChart,
    /// The keys of the choruses in turn, over and over; at least one.
    pub keys: &'a [ConcertKey],
    /// Number of bars of a phrase, which are sounded and then played once more for the answer.
    pub bars: u32,
    /// What the player does with the phrases.
    pub way: TradeWay,
    /// Where this is given, one pattern is asked on every chord of this kind, instead of joined phrases.
    pub on_every: Option<&'a Numeral>,
    /// How often the form is played through with phrases.
    pub choruses: u32,
    /// Quarter notes a minute.
    pub tempo: Tempo,
    /// Whether eighths swing.
    pub swing: bool,
    /// The range in which phrases lie.
    pub range: Range,
    /// Whether the band plays one chorus alone between choruses with phrases, since lips and voices tire.
    pub rests: bool,
}

/// The plan of a trade: which phrase is sounded and answered over which bars. Beats count from the first beat of the lead-in.
#[derive(Debug, Clone)]
pub struct Trade {
    /// One chorus after another.
    pub rounds: Vec<TradeRound>,
    /// What the band plays in each round: the form with every group of `bars` bars twice.
    pub forms: Vec<Chorus>,
    /// Quarter notes a minute.
    pub tempo: Tempo,
    /// Number of bars of a phrase, which are sounded and then played once more for the answer; 0 where the choruses are free.
    pub bars: u32,
    /// The chorus that follows the lead-in; those before it are over, and their beats mean nothing any more.
    pub from: usize,
}

/// Once through the form.
#[derive(Debug, Clone)]
pub struct TradeRound {
    /// The key of the chorus.
    pub key: ConcertKey,
    /// Whether that key is minor.
    pub minor: bool,
    /// What is asked in the chorus; empty where the player rests or plays freely, or where no phrase could be joined over any of its bars.
    pub exchanges: Vec<Exchange>,
    /// What stands for a cue in a free chorus, without a note, since nothing is asked; `None` where phrases are asked or the player
    /// rests.
    pub free: Option<Cue>,
    /// What a simulated player plays in a free chorus, each line with the beat of the chorus from which it counts; a person plays what
    /// comes to mind.
    pub improvised: Vec<(Cue, Beats)>,
    /// The first beat of the chorus.
    pub begins: Beats,
    /// The beat after the last of the chorus.
    pub ends: Beats,
}

/// A phrase that is sounded, and the bars in which it is answered.
#[derive(Debug, Clone)]
pub struct Exchange {
    /// The phrase.
    pub phrase: Phrase,
    /// What the player does with the phrase.
    pub way: TradeWay,
    /// What is asked, swung where the form swings: the phrase, or the half of it that the player adds.
    pub cue: Cue,
    /// What is sounded: the phrase, or its first half.
    pub lead: Line,
    /// What the chords allow in these bars.
    pub ground: Ground,
    /// The first bar of the form that the phrase lies over, counted from 0.
    pub first_bar: u32,
    /// Number of bars that the phrase lies over.
    pub bars: u32,
    /// The beat on which its bars begin when it is sounded.
    pub sounded: Beats,
    /// The beat on which its bars begin once more.
    pub answered: Beats,
    /// The beat after the bars of the answer.
    pub ends: Beats,
}

impl Trade {
    /// Draws the phrases. Bars over which none can be joined go by without one.
    ///
    /// # Errors
    /// Where no phrase at all can be joined: why the first one cannot.
    pub fn plan(
        wish: &TradeWish<'_>,
        maker: &mut PhraseMaker,
        draw: &mut dyn FnMut() -> f64,
    ) -> Result<Self, NoPhrase> {
        let minor = wish.form.chart.is_minor();
        let mut trade = Self::empty(wish.tempo, wish.bars.max(1));
        let mut refused = None;
        let mut number = 0;
        let mut begins = Beats(f64::from(LEAD_IN * wish.form.chart.meter()));
        for key in wish.keys.iter().cycle().take(wish.choruses as usize) {
            let once = wish.form.chart.in_key(wish.form.chart.tonality(key.0, false).tonic).chorus();
            let twice = once.each_twice(wish.bars);
            if wish.rests && number > 0 {
                begins = trade.enter(*key, minor, Vec::new(), &twice, begins);
            }
            let mut exchanges = Vec::new();
            for first in (0..once.bars).step_by(wish.bars.max(1) as usize) {
                let ground = Ground::new(&once, first, wish.bars, minor);
                let phrase = match wish.on_every {
                    Some(kind) => maker.on_every(kind, &ground, wish.range, draw),
                    None => maker.phrase(&ground, wish.range, draw),
                };
                match phrase {
                    Ok(phrase) => {
                        number += 1;
                        exchanges.push(exchange(wish, &once, (number, first), begins, *key, phrase));
                    }
                    Err(none) => refused = refused.or(Some(none)),
                }
            }
            begins = trade.enter(*key, minor, exchanges, &twice, begins);
        }
        match refused {
            Some(none) if number == 0 => Err(none),
            _ => Ok(trade),
        }
    }
    /// A trade without a chorus.
    pub(super) const fn empty(tempo: Tempo, bars: u32) -> Self {
        Self { rounds: Vec::new(), forms: Vec::new(), tempo, bars, from: 0 }
    }
    /// Adds a chorus that begins on the beat `begins`; returns the beat after its last.
    pub(super) fn enter(
        &mut self,
        key: ConcertKey,
        minor: bool,
        exchanges: Vec<Exchange>,
        form: &Chorus,
        begins: Beats,
    ) -> Beats {
        let ends = begins + Beats(f64::from(form.beats()));
        self.rounds.push(TradeRound { key, minor, exchanges, free: None, improvised: Vec::new(), begins, ends });
        self.forms.push(form.clone());
        ends
    }
    /// The same trade from a chorus on, which then begins after a lead-in; no chorus where there are no more.
    #[must_use]
    pub fn again_from(&self, round: usize) -> Self {
        let begins = |n: usize| self.rounds.get(n).map_or_else(|| self.ends(), |round| round.begins);
        let sooner = begins(round) - begins(self.from);
        let mut again = Self { from: round, ..self.clone() };
        for round in &mut again.rounds {
            for beat in [&mut round.begins, &mut round.ends] {
                *beat = *beat - sooner;
            }
            for exchange in &mut round.exchanges {
                for beat in [&mut exchange.sounded, &mut exchange.answered, &mut exchange.ends] {
                    *beat = *beat - sooner;
                }
            }
        }
        again
    }
    /// The beat after the last chorus.
    #[must_use]
    pub fn ends(&self) -> Beats {
        self.rounds.last().map_or(Beats(0.0), |round| round.ends)
    }
    /// The bar of the form, counted from 0, on a beat of one of the `forms`, and whether the bar sounds for the second time: the player
    /// answers then.
    #[must_use]
    pub fn bar(&self, form: &Chorus, beat: u32) -> (u32, bool) {
        let bar = beat / form.meter;
        if self.is_free() {
            return (bar, false);
        }
        let first = bar / (2 * self.bars) * self.bars;
        let bars = self.bars.min((form.bars / 2).saturating_sub(first)).max(1);
        let inside = bar - 2 * first;
        (first + inside % bars, inside >= bars)
    }
    /// Everything that is still asked, in order.
    pub fn exchanges(&self) -> impl Iterator<Item = &Exchange> {
        self.rounds.iter().skip(self.from).flat_map(|round| &round.exchanges)
    }
}

/// One piece of a phrase in a chorus of this key, as a cue names it.
fn joined_part(piece: &JoinedPiece, key: ConcertKey) -> JoinedPart {
    JoinedPart {
        pattern: piece.pattern.clone(),
        title: piece.name.clone(),
        key: ConcertKey(PitchClass::new(key.0.get() + piece.chord.root.half_steps)),
        first: piece.first,
        last: piece.last,
        seam: piece.seam,
    }
}

/// A phrase over the bars from `first` on of a chorus that begins on the beat `begins`.
pub(super) fn exchange(
    wish: &TradeWish<'_>,
    once: &Chorus,
    (number, first): (u32, u32),
    begins: Beats,
    key: ConcertKey,
    phrase: Phrase,
) -> Exchange {
    let bars = wish.bars.min(once.bars - first);
    let beats = |bars: u32| Beats(f64::from(bars * once.meter));
    let sounded = begins + beats(2 * first);
    let names: Vec<&str> = phrase.pieces.iter().map(|piece| piece.name.as_str()).collect();
    let ids: Vec<&str> = phrase.pieces.iter().map(|piece| piece.pattern.0.as_str()).collect();
    let line = if wish.swing { phrase.line.swung(swing_at(wish.tempo), Beats(0.0)) } else { phrase.line.clone() };
    let mode = if wish.form.chart.is_minor() { Mode::Minor } else { Mode::Major };
    let mut cue = Cue {
        number,
        pattern: PatternId(ids.join("+")),
        title: names.join(" + "),
        key,
        spelling: Spelling { mode, chromatic: true },
        register: Register::Middle,
        form: Form::Pattern,
        timing: Timing::InTempo,
        tempo: wish.tempo,
        meter: if once.meter == 3 { Meter::ThreeFour } else { Meter::FourFour },
        line,
        chord: Vec::new(),
        click: false,
        repeat: false,
        warning: None,
        second_task: None,
        joined: phrase.pieces.iter().map(|piece| joined_part(piece, key)).collect(),
        round: None,
        by_ear: false,
    };
    let ground = Ground::new(once, first, wish.bars, wish.form.chart.is_minor());
    let mut lead = cue.line.clone();
    match wish.way {
        TradeWay::Answer => {}
        TradeWay::Finish => (lead, cue.line, cue.joined) = halves(&cue.line, &cue.joined, &cue.seam_notes()),
        // A variation is none of its patterns.
        TradeWay::Vary => cue.joined = Vec::new(),
    }
    let (way, answered) = (wish.way, sounded + beats(bars));
    let ends = answered + beats(bars);
    Exchange { phrase, way, cue, lead, ground, first_bar: first, bars, sounded, answered, ends }
}
