//! What is traded: worked out from what was typed.

use crate::chart::Numeral;
use crate::cli::args::trade::TradeTyped;
use crate::cli::charts::band;
use crate::cli::resolve::GOALS;
use crate::coach::Rng;
use crate::files::{self, Places, UserSettings};
use crate::music::ConcertKey;
use crate::phrase::{NoPhrase, PhraseMaker};
use crate::talk::failure::Failure;
use crate::talk::library::library;
use crate::talk::named_charts;
use crate::talk::output::say;
use crate::talk::phrase_stock::{StockWish, stock};
use crate::talk::player::Who;
use crate::talk::sitting;
use crate::talk::trade_screen::PlannedTrade;
use crate::talk::who;
use crate::trade::{Trade, TradeWish};
use crate::units::{Seconds, Tempo};
use crate::words::numbers::counted;

/// It is made whole before it sounds, so it may not last for ever, in minutes.
const MOST_MINUTES: f64 = 6.0;

/// How long a trade lasts.
pub(super) fn length(typed: &TradeTyped, stored: &UserSettings, places: &Places) -> Result<Seconds, Failure> {
    let (PlannedTrade { plan, .. }, _) = made(typed, stored, places)?;
    Ok(plan.tempo.lasting(plan.ends()))
}

/// What is traded, as it was typed; it is told.
pub(super) fn planned(typed: &TradeTyped, stored: &UserSettings, places: &Places) -> Result<PlannedTrade, Failure> {
    let (planned, named) = made(typed, stored, places)?;
    let PlannedTrade { form, plan, seed, .. } = &planned;
    let minutes = plan.ends().0 / plan.tempo.0;
    if minutes > MOST_MINUTES {
        let what = format!("that lasts {minutes:.0} minutes");
        return Err(Failure::usage(what, format!("Ask for fewer --choruses: {MOST_MINUTES} minutes at most.")));
    }
    let count = counted(plan.exchanges().count(), "phrase");
    say(format!("{} · {count} made of {named} · quarter = {:.0} · seed {seed}", form.name, plan.tempo.0))?;
    Ok(planned)
}

/// The trade, and in words what its phrases are made of.
fn made(typed: &TradeTyped, stored: &UserSettings, places: &Places) -> Result<(PlannedTrade, String), Failure> {
    let form = named_charts::chart(&typed.chart)?;
    let who = Who::of(&typed.player, stored)?;
    let tempo = Tempo(band::tempo(typed.tempo, &form)?);
    let first = band::first_key(typed.key.as_deref(), &form, &who)?;
    let wish = band::wish(&typed.parts, tempo, form.swing, who.a4)?;
    let keys: Vec<ConcertKey> = match (typed.moves, form.cycle) {
        (Some(moves), _) => band::moves(moves, first),
        (None, Some(cycle)) => cycle.keys(first, |_| 0).to_vec(),
        (None, None) => vec![first],
    };
    let library = library()?;
    let player = who::known_already(None, stored)?.map(|player| player.id);
    let learner = sitting::learner(&who.page.instrument.id, player, stored, places);
    let asked = StockWish { named: &typed.patterns, up_to: typed.up_to };
    let (stock, named) = stock(&asked, &library, &learner, &stored.goals(GOALS))?;
    let seed = typed.seed.unwrap_or_else(|| files::today().seed() % 1_000_000);
    let mut rng = Rng::new(seed);
    let rests = who.page.instrument.tires();
    let on_every = typed.on_every.as_deref().map(kind).transpose()?;
    let asked = TradeWish {
        form: &form,
        keys: &keys,
        bars: typed.bars,
        on_every: on_every.as_ref(),
        choruses: typed.choruses,
        tempo,
        swing: wish.swing,
        range: who.range,
        rests,
    };
    let plan =
        Trade::plan(&asked, &mut PhraseMaker::new(stock), &mut || rng.uniform()).map_err(|none| refused(&none))?;
    Ok((PlannedTrade { who, form, plan, wish, seed }, named))
}

/// A kind of chord, as a Roman numeral.
fn kind(typed: &str) -> Result<Numeral, Failure> {
    Numeral::parse(typed.trim()).map_err(|wrong| Failure::usage(wrong, "Name it as V, II, IIm7 or bVII7."))
}

/// Why no phrase could be joined, and how to mend it.
fn refused(none: &NoPhrase) -> Failure {
    let mend = match none {
        NoPhrase::Silent => "Write chords into the chart: \"| Dm7 | G7 | Cmaj7 | % |\".",
        NoPhrase::NoPattern { .. } => {
            "Name patterns for these chords with --patterns, or take --up-to 3 of the library."
        }
        NoPhrase::OutOfRange { .. } => "Widen --range, or take shorter patterns: earfirst patterns list --longest 5.",
        NoPhrase::NoSuchChord { .. } => "earfirst charts show NAME tells its chords as Roman numerals.",
        NoPhrase::NoRoom { .. } => "Take shorter patterns, more --bars or a wider --range.",
        NoPhrase::NoSeam => {
            "Name more patterns with --patterns, ask for more --bars, or take --up-to 3 of the library."
        }
    };
    Failure::usage(none, mend)
}
