//! `trade`: phrases of joined patterns over a form, sounded and answered in turn; or free choruses over it.

use crate::cli::args::trade::TradeTyped;
use crate::cli::charts::band;
use crate::coach::Goals;
use crate::files::{self, Places, UserSettings};
use crate::talk::failure::Failure;
use crate::talk::planned_trade::{TradeAsked, TradeStage, kind};
use crate::talk::player::Who;
use crate::talk::trade_record::TradePlayer;
use crate::talk::{first_run, lessons, loudspeaker, named_charts, sitting};
use crate::units::{SampleRate, Tempo};

/// Runs the trade that was typed.
pub fn run(typed: &TradeTyped) -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    let plays = !typed.show && typed.wav.is_none();
    if plays && !typed.simulated && typed.player.instrument.is_none() && first_run::asks(&stored) {
        first_run::ask_before_trade(&mut stored, typed.player_name.as_deref(), typed.input.as_deref(), &places)?;
    }
    let lesson = typed.lesson.as_deref().map(lessons::open).transpose()?;
    let (named, here) = (typed.player_name.as_deref(), plays.then_some(&places));
    let whose = TradePlayer::of(named, lesson.as_ref(), &mut stored, here)?;
    let player = whose.player.as_ref().map(|player| player.id);
    let chart = typed.chart.as_ref().or(typed.chart_named.as_ref());
    let set = lesson.as_ref().map(|it| lessons::chart_of(it, chart.map(String::as_str), player, &stored, &places));
    let chart = set.transpose()?.or_else(|| chart.cloned()).unwrap_or_default();
    let asked = asked(typed, chart, lesson.map(|it| it.seed), &stored)?;
    let learner = sitting::learner(&asked.who.page.instrument.id, player, &stored, &places);
    let planned = asked.plan(&learner, &stored.goals(Goals::USUAL))?;
    planned.tell()?;
    if typed.show {
        return planned.show();
    }
    if let Some(wav) = &typed.wav {
        return loudspeaker::write(wav, &planned.sound(SampleRate::CD).clip);
    }
    let (input, output) = (typed.input.as_deref(), typed.output.as_deref());
    let (simulated, keep) = (typed.simulated.then_some(typed.fast), typed.keep_sound.map(Into::into));
    let whose = whose.plays(simulated.is_some() && named.is_none(), &places);
    let (plain, musicxml) = (typed.plain, typed.musicxml.as_deref());
    planned.play(&TradeStage { plain, simulated, input, output, musicxml, keep, whose }, &stored, &places)
}

fn asked(typed: &TradeTyped, chart: String, seed: Option<u32>, stored: &UserSettings) -> Result<TradeAsked, Failure> {
    let form = named_charts::chart(&chart)?;
    let chart = if chart.contains('|') { chart } else { form.id.clone() };
    let who = Who::of(&typed.player, stored)?;
    let first = band::first_key(typed.key.as_deref(), &form, &who)?;
    let wish = band::wish(&typed.parts, Tempo(band::tempo(typed.tempo, &form)?), form.swing, who.a4)?;
    let keys = match (typed.moves, form.cycle) {
        (Some(moves), _) => band::moves(moves, first),
        (None, Some(cycle)) if !typed.free => cycle.keys(first, |_| 0).to_vec(),
        (None, _) => vec![first],
    };
    Ok(TradeAsked {
        keys,
        open_key: typed.key.is_none() && typed.moves.is_none() && !typed.free,
        bars: typed.bars,
        free: typed.free,
        simulated: typed.simulated,
        way: typed.way(),
        on_every: typed.on_every.as_deref().map(kind).transpose()?,
        choruses: typed.choruses,
        wish,
        patterns: typed.patterns.clone(),
        up_to: typed.up_to,
        seed: typed.seed.or(seed.map(u64::from)).unwrap_or_else(|| files::today().seed() % 1_000_000),
        who,
        form,
        chart,
    })
}
