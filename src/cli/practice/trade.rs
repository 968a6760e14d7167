//! `trade`: phrases of joined patterns over a form, sounded and answered in turn.

use crate::backing::BandWish;
use crate::cli::args::trade::TradeTyped;
use crate::cli::practice::trade_planned::planned;
use crate::coach::Rng;
use crate::cue::CueSound;
use crate::engine::{self, Listener, SimulatedAudio};
use crate::files::{Places, UserSettings};
use crate::room::Echo;
use crate::talk::failure::Failure;
use crate::talk::loudspeaker;
use crate::talk::output::say;
use crate::talk::rig::{self, OpenPair};
use crate::talk::trade_screen::{PlannedTrade, TradeShown};
use crate::trade;
use crate::units::{SampleRate, Seconds};
use crate::words::traded;

/// Trades.
pub fn run(typed: &TradeTyped) -> Result<(), Failure> {
    let places = Places::usual()?;
    let stored = UserSettings::load(&places)?;
    let planned = planned(typed, &stored, &places)?;
    if typed.show {
        return planned
            .plan
            .exchanges()
            .try_for_each(|exchange| traded::shown(exchange, &planned.who.page).into_iter().try_for_each(say));
    }
    if let Some(wav) = &typed.wav {
        return loudspeaker::write(wav, &sound(&planned, SampleRate::CD).clip);
    }
    if typed.simulated {
        let player = engine::simulated_player(&planned.who.page.instrument, planned.seed);
        let rate = SampleRate::DEVICE;
        let audio = SimulatedAudio::new(player, rate, planned.who.a4, planned.seed, typed.fast);
        let ear = engine::ear_settings(rate, planned.who.a4, Some(&planned.who.page.instrument));
        let mut rig = Listener::new(ear, Echo::new(rate), audio);
        return played(typed, &planned, &mut rig, Some(Seconds(0.0)));
    }
    live(typed, &planned, &stored)
}

fn sound(planned: &PlannedTrade, rate: SampleRate) -> CueSound {
    let mut rng = Rng::new(planned.seed);
    let made = trade::sound(&planned.plan, &BandWish { rate, ..planned.wish }, move || rng.uniform());
    made.unwrap_or_else(|| CueSound {
        clip: crate::sound::Clip::silence(rate, Seconds(0.1)).into(),
        end: Seconds(0.1),
        beat_zero: None,
        beats: Vec::new(),
        clicks: Vec::new(),
        notes: Vec::new(),
    })
}

/// Trades with whoever sits at the devices.
fn live(typed: &TradeTyped, planned: &PlannedTrade, stored: &UserSettings) -> Result<(), Failure> {
    say("With headphones: from a loudspeaker the band would be heard as your own notes.")?;
    let _quiet = engine::quiet();
    let pair = rig::pair(typed.input.as_deref(), typed.output.as_deref(), stored);
    let OpenPair { audio, rate, delay, .. } =
        pair.map_err(|why| Failure::device(why, "earfirst devices lists what is there; --simulated needs no device."))?;
    let ear = engine::ear_settings(rate, planned.who.a4, Some(&planned.who.page.instrument));
    let mut rig = Listener::new(ear, Echo::new(rate), audio).keeping_no_sound();
    played(typed, planned, &mut rig, delay)
}

fn played(
    typed: &TradeTyped,
    planned: &PlannedTrade,
    rig: &mut dyn engine::Rig,
    delay: Option<Seconds>,
) -> Result<(), Failure> {
    let mut shown = TradeShown::begin(planned, typed.plain)?;
    let made = |rate| sound(planned, rate);
    let intonation = planned.who.page.instrument.intonation;
    let ended = engine::trade(rig, &planned.plan, &made, (delay, intonation), &mut |moment| shown.goes_on(moment));
    shown.end()?;
    Ok(ended?)
}
