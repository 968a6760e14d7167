//! `trade`: phrases of joined patterns over a form, sounded and answered in turn.

use std::path::Path;

use crate::backing::BandWish;
use crate::cli::args::trade::TradeTyped;
use crate::cli::practice::simulated_player::{self, RATE};
use crate::cli::practice::trade_planned::{PlannedTrade, planned};
use crate::cli::practice::trade_shown::TradeShown;
use crate::coach::Rng;
use crate::cue::CueSound;
use crate::devices::Side;
use crate::engine::{self, DeviceAudio, Listener, SimulatedAudio};
use crate::files::{Places, UserSettings, write_wav};
use crate::room::Echo;
use crate::talk::chosen_devices;
use crate::talk::failure::Failure;
use crate::talk::output::say;
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
        return written(&planned, wav);
    }
    if typed.simulated {
        let player = simulated_player::of(&planned.who.page.instrument, planned.seed);
        let audio = SimulatedAudio::new(player, RATE, planned.who.a4, planned.seed, typed.fast);
        let ear = engine::ear_settings(RATE, planned.who.a4, Some(&planned.who.page.instrument));
        let mut rig = Listener::new(ear, Echo::new(RATE), audio);
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

fn written(planned: &PlannedTrade, wav: &Path) -> Result<(), Failure> {
    let clip = sound(planned, SampleRate::CD).clip;
    write_wav(wav, &clip)?;
    say(format!("{}: {:.1} s, peaks at {:.1} dB of full scale", wav.display(), clip.length().0, clip.peak().0))
}

/// Trades with whoever sits at the devices.
fn live(typed: &TradeTyped, planned: &PlannedTrade, stored: &UserSettings) -> Result<(), Failure> {
    say("With headphones: from a loudspeaker the band would be heard as your own notes.")?;
    let gone = |why: &dyn std::fmt::Display| {
        Failure::device(why, "earfirst devices lists what is there; --simulated needs no device.")
    };
    let _quiet = engine::quiet();
    let wanted = chosen_devices::devices(typed.input.as_deref(), typed.output.as_deref(), stored);
    let audio = DeviceAudio::open(&wanted).map_err(|failure| gone(&failure))?;
    let (Some(input), Some(output)) = (audio.about(Side::Input), audio.about(Side::Output)) else {
        return Err(gone(&"the devices went away"));
    };
    let measured = stored.calibration(&input.id, &output.id, input.period.unwrap_or(0));
    let (delay, rate) = (measured.map(|kept| Seconds(kept.remainder_s)), input.rate);
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
