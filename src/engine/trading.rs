use crate::cue::CueSound;
use crate::engine::note_source::Rig;
use crate::music::Intonation;
use crate::notes::{HELD_NOTE, NoteEvent};
use crate::simulated::AnswerClock;
use crate::sound::Placement;
use crate::trade::{Trade, TradeMoment, Trader};
use crate::units::{Beats, Decibels, SampleRate, Seconds};
use crate::words::SoundFault;

/// Where more than this is left of the band while the player sounds, he is covered: headphones or a softer band are advised.
const COVERED: Decibels = Decibels(-3.0);

/// So much of what came in before the band began is kept with its sound.
const KEPT_BEFORE: Seconds = Seconds(1.0);
/// The sound that is kept is handed on in pieces of about this length.
const PIECE: Seconds = Seconds(5.0);

/// Gets each moment of a trade and says whether to go on; it is also called with `None`, whenever the rig has listened.
type Tell<'t> = &'t mut dyn FnMut(Option<TradeMoment>) -> bool;

/// Runs a trade: band and phrases sound, and what the player answers is heard and judged. `sound` makes the whole sound of a trade
/// at a rate. After a chorus of silence the band stops; once a note is held, it begins again with that chorus. `tell` gets each
/// moment and says whether to go on; it is also called with `None`, whenever the rig has listened.
///
/// # Errors
/// What stops the sound.
pub fn trade(
    rig: &mut dyn Rig,
    plan: &Trade,
    sound: &dyn Fn(&Trade, SampleRate) -> CueSound,
    judged_by: (Option<Seconds>, Intonation),
    tell: Tell<'_>,
) -> Result<(), SoundFault> {
    let mut plan = plan.clone();
    let mut made = None;
    loop {
        let Some(place) = begun(rig, &plan, sound, made.take(), judged_by.0)? else { return Ok(()) };
        let Some((silent, from)) = followed(rig, &plan, place, judged_by, tell)? else { return Ok(()) };
        plan = plan.again_from(silent);
        // It is made while nobody waits for it.
        made = rig.output_rate().map(|rate| (rate, sound(&plan, rate)));
        rig.await_held_note();
        let Some(held) = held_note(rig, from, tell)? else { return Ok(()) };
        if !tell(Some(TradeMoment::Again(held))) {
            return Ok(());
        }
    }
}

/// Begins to sound a trade, and waits until it is known where its sound lies; `None` where it has no chorus. `made` is its
/// sound, where it was made before. A source that hears is told where the sound comes back, later by `delay`, the devices' own.
fn begun(
    rig: &mut dyn Rig,
    plan: &Trade,
    sound: &dyn Fn(&Trade, SampleRate) -> CueSound,
    mut made: Option<(SampleRate, CueSound)>,
    delay: Option<Seconds>,
) -> Result<Option<Placement>, SoundFault> {
    let Some(first) = plan.first().cloned() else { return Ok(None) };
    let answered = plan.exchanges().map(|exchange| (exchange.simulated(), exchange.answered));
    let asked: Vec<_> = answered
        .chain(plan.improvised().map(|(cue, at)| (cue.clone(), at)))
        .map(|(cue, at)| {
            let at = plan.tempo.lasting(at);
            (cue, AnswerClock { cue_end: at, beat_zero: Some(at) })
        })
        .collect();
    let (mut ordered, mut heard) = (false, None);
    loop {
        if let Some(fault) = rig.trouble().filter(|fault| fault.stops()) {
            return Err(fault);
        }
        if let (false, Some(rate)) = (ordered, rig.output_rate()) {
            let (_, clip) = made.take().filter(|it| it.0 == rate).unwrap_or_else(|| (rate, sound(plan, rate)));
            // It is made before it sounds: a source that hears must know its place soon after.
            heard = rig.cue_rate().map(|own| if own == rate { clip.clone() } else { sound(plan, own) });
            ordered = rig.play_long(&first, &clip, &asked);
            if ordered {
                rig.cue_ordered();
            }
            made = Some((rate, clip));
        }
        if let Some(cue) = rig.placed().filter(|_| ordered) {
            if let Some(heard) = &heard {
                rig.band_placed(heard, cue.place.later(delay.unwrap_or(Seconds(0.0))), unanswered(plan));
            }
            return Ok(Some(cue.place));
        }
        rig.listen(&mut |_| ());
        if !ordered {
            rig.forget_input(KEPT_BEFORE);
        }
        rig.wait();
    }
}

/// How long a trade sounds before anybody may play.
pub(super) fn unanswered(plan: &Trade) -> Seconds {
    let answered = plan.exchanges().map(|exchange| exchange.answered).next();
    let begins = plan.rounds.get(plan.from).map(|round| round.begins);
    plan.tempo.lasting(answered.or(begins).unwrap_or(Beats(0.0)))
}

/// Follows a trade to its end; gives the chorus in which nothing was played and when it was over, where the band stops for that.
pub(super) fn followed(
    rig: &mut dyn Rig,
    plan: &Trade,
    place: Placement,
    (delay, intonation): (Option<Seconds>, Intonation),
    tell: Tell<'_>,
) -> Result<Option<(usize, Seconds)>, SoundFault> {
    let mut trader = Trader::new(plan, place, delay, intonation);
    let (mut known, mut silent, mut covered) = (place.from, None, false);
    let mut handed_on = place.from;
    let ended = loop {
        let mut heard: Vec<NoteEvent> = Vec::new();
        let Some(now) = rig.listen(&mut |note| heard.push(*note)) else {
            if let Some(fault) = rig.trouble().filter(|fault| fault.stops()) {
                break Err(fault);
            }
            rig.wait();
            continue;
        };
        known = now;
        heard.iter().for_each(|note| trader.hear(note));
        let mut goes_on = tell(None);
        if !covered && rig.band_covers().is_some_and(|it| it > COVERED) {
            covered = true;
            goes_on = goes_on && tell(Some(TradeMoment::Covered));
        }
        let come = if goes_on { trader.now(now) } else { Vec::new() };
        if now - handed_on > PIECE || come.iter().any(|moment| matches!(moment, TradeMoment::Judged(..))) {
            goes_on = hand_on(rig, tell) && goes_on;
            handed_on = now;
        }
        for moment in come {
            if let TradeMoment::Silent(round, at) = moment {
                silent = Some((round, at));
            }
            let last = matches!(moment, TradeMoment::Silent(..) | TradeMoment::End);
            goes_on = goes_on && tell(Some(moment)) && !last;
        }
        if !goes_on {
            break Ok(silent);
        }
    };
    rig.hush();
    hand_on(rig, tell);
    // What was played of a chorus is kept, whatever stopped it.
    for moment in trader.broken_off(known) {
        tell(Some(moment));
    }
    ended
}

/// Hands on what came in, where it is kept; gives whether to go on.
fn hand_on(rig: &mut dyn Rig, tell: Tell<'_>) -> bool {
    rig.take_input().is_none_or(|stretch| tell(Some(TradeMoment::Sound(stretch))))
}

/// Waits until a note that began after `from` is held, and gives the instant; `None` where the player ends instead.
fn held_note(rig: &mut dyn Rig, from: Seconds, tell: Tell<'_>) -> Result<Option<Seconds>, SoundFault> {
    let mut sounding: Vec<(u32, Seconds)> = Vec::new();
    loop {
        let mut take = |event: &NoteEvent| {
            let note = event.note();
            sounding.retain(|(number, _)| *number != note.number);
            if !matches!(event, NoteEvent::Off(_)) && note.onset >= from {
                sounding.push((note.number, note.onset));
            }
        };
        let Some(now) = rig.listen(&mut take) else {
            if let Some(fault) = rig.trouble().filter(|fault| fault.stops()) {
                return Err(fault);
            }
            rig.wait();
            continue;
        };
        rig.forget_input(KEPT_BEFORE);
        if !tell(None) {
            return Ok(None);
        }
        if sounding.iter().any(|(_, onset)| now - *onset >= HELD_NOTE) {
            return Ok(Some(now));
        }
    }
}
