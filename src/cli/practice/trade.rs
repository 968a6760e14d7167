//! `trade`: phrases of joined patterns over a form, sounded and answered in turn.

use crate::chart::Numeral;
use crate::cli::args::trade::TradeTyped;
use crate::cli::charts::band;
use crate::coach::Goals;
use crate::files::{self, Places, UserSettings};
use crate::talk::failure::Failure;
use crate::talk::planned_trade::{TradeAsked, TradeStage};
use crate::talk::player::Who;
use crate::talk::{loudspeaker, named_charts, sitting, who};
use crate::units::{SampleRate, Tempo};

/// Runs the trade that was typed.
pub fn run(typed: &TradeTyped) -> Result<(), Failure> {
    let places = Places::usual()?;
    let stored = UserSettings::load(&places)?;
    let asked = asked(typed, &stored)?;
    let player = who::known_already(None, &stored)?.map(|player| player.id);
    let learner = sitting::learner(&asked.who.page.instrument.id, player, &stored, &places);
    let planned = asked.plan(&learner, &stored.goals(Goals::USUAL))?;
    planned.tell()?;
    if typed.show {
        return planned.show();
    }
    if let Some(wav) = &typed.wav {
        return loudspeaker::write(wav, &planned.sound(SampleRate::CD).clip);
    }
    let stage = TradeStage {
        plain: typed.plain,
        simulated: typed.simulated.then_some(typed.fast),
        input: typed.input.as_deref(),
        output: typed.output.as_deref(),
    };
    planned.play(&stage, &stored)
}

fn asked(typed: &TradeTyped, stored: &UserSettings) -> Result<TradeAsked, Failure> {
    let form = named_charts::chart(&typed.chart)?;
    let who = Who::of(&typed.player, stored)?;
    let tempo = Tempo(band::tempo(typed.tempo, &form)?);
    let first = band::first_key(typed.key.as_deref(), &form, &who)?;
    let wish = band::wish(&typed.parts, tempo, form.swing, who.a4)?;
    let keys = match (typed.moves, form.cycle) {
        (Some(moves), _) => band::moves(moves, first),
        (None, Some(cycle)) => cycle.keys(first, |_| 0).to_vec(),
        (None, None) => vec![first],
    };
    Ok(TradeAsked {
        keys,
        bars: typed.bars,
        on_every: typed.on_every.as_deref().map(kind).transpose()?,
        choruses: typed.choruses,
        wish,
        patterns: typed.patterns.clone(),
        up_to: typed.up_to,
        seed: typed.seed.unwrap_or_else(|| files::today().seed() % 1_000_000),
        who,
        form,
    })
}

/// A kind of chord, as a Roman numeral.
fn kind(typed: &str) -> Result<Numeral, Failure> {
    Numeral::parse(typed.trim()).map_err(|wrong| Failure::usage(wrong, "Name it as V, II, IIm7 or bVII7."))
}
