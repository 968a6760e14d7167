use crate::cue::CueSound;
use crate::engine::note_source::Rig;
use crate::music::Intonation;
use crate::notes::NoteEvent;
use crate::simulated::AnswerClock;
use crate::sound::Placement;
use crate::trade::{Trade, TradeMoment, Trader};
use crate::units::{SampleRate, Seconds};
use crate::words::SoundFault;

/// Runs a trade: band and phrases sound, and what the player answers is heard and judged. `sound` makes the whole sound at a rate.
/// `tell` gets each moment and says whether to go on; it is also called with `None`, whenever the rig has listened.
///
/// # Errors
/// What stops the sound.
pub fn trade(
    rig: &mut dyn Rig,
    plan: &Trade,
    sound: &dyn Fn(SampleRate) -> CueSound,
    (delay, intonation): (Option<Seconds>, Intonation),
    tell: &mut dyn FnMut(Option<TradeMoment>) -> bool,
) -> Result<(), SoundFault> {
    let Some(first) = plan.exchanges().next().map(|exchange| exchange.cue.clone()) else { return Ok(()) };
    let asked: Vec<_> = plan
        .exchanges()
        .map(|exchange| {
            let at = |beats| plan.tempo.lasting(beats);
            let clock = AnswerClock { cue_end: at(exchange.answered), beat_zero: Some(at(exchange.answered)) };
            (exchange.cue.clone(), clock)
        })
        .collect();
    let place = loop {
        if let Some(fault) = rig.trouble().filter(|fault| fault.stops()) {
            return Err(fault);
        }
        if let Some(rate) = rig.output_rate()
            && rig.play_long(&first, &sound(rate), &asked)
        {
            break placed(rig)?;
        }
        rig.listen(&mut |_| ());
        rig.wait();
    };
    let mut trader = Trader::new(plan, place, delay, intonation);
    loop {
        let mut heard: Vec<NoteEvent> = Vec::new();
        let Some(now) = rig.listen(&mut |note| heard.push(*note)) else {
            if let Some(fault) = rig.trouble().filter(|fault| fault.stops()) {
                rig.hush();
                return Err(fault);
            }
            rig.wait();
            continue;
        };
        heard.iter().for_each(|note| trader.hear(note));
        if !tell(None) {
            rig.hush();
            return Ok(());
        }
        for moment in trader.now(now) {
            let last = matches!(moment, TradeMoment::Silent | TradeMoment::End);
            if !tell(Some(moment)) || last {
                rig.hush();
                return Ok(());
            }
        }
    }
}

/// Waits until it is known where the sound lies.
fn placed(rig: &mut dyn Rig) -> Result<Placement, SoundFault> {
    loop {
        if let Some(cue) = rig.placed() {
            return Ok(cue.place);
        }
        if let Some(fault) = rig.trouble().filter(|fault| fault.stops()) {
            return Err(fault);
        }
        rig.listen(&mut |_| ());
        rig.wait();
    }
}
