use std::collections::BTreeSet;

use crate::engine::{self, JudgedAgain};
use crate::files::SessionEntry;
use crate::music::{self, Instrument, Intonation};
use crate::notes::{EAR_VERSION, EarSettings};
use crate::report;
use crate::session::{RecordedSound, Session};
use crate::sound::{Clip, InputStretch};
use crate::talk::failure::Failure;
use crate::talk::output::{say, warn};
use crate::talk::recorded_trade::{RecordedRun, RecordedTrade};
use crate::trade::{Exchange, JudgedExchange};
use crate::units::Seconds;
use crate::words::numbers::numbered;

/// Judges the stored sound again, makes every sentence again from the record, and says what differs.
pub fn say_again(listed: &[SessionEntry]) -> Result<(), Failure> {
    let (mut differ, mut judged, mut soundless, mut sentences) = (0, 0, 0, 0);
    let mut otherwise = 0;
    for found in listed.iter().filter_map(|listed| listed.read().ok()) {
        let sounds = found.sounds();
        let Some(session) = Session::of(found.events) else { continue };
        sentences += session.trials.iter().filter(|turn| turn.judgement.is_some()).count();
        for mismatch in report::recheck(&session) {
            differ += 1;
            say(format!("cue {}: the sentence is now: {}", mismatch.cue, mismatch.now))?;
        }
        let Ok(instrument) = music::instrument(&session.began.instrument) else { continue };
        let settings = engine::ear_settings(session.began.rate, session.began.a4, Some(instrument));
        let mut sounds = sounds.inspect_err(|failure| warn(failure)).ok();
        // A failure that concerns the sound of all answers is said once.
        let mut failures = BTreeSet::new();
        let mut sound = |place| match sounds.as_mut()?.cut(place) {
            Ok(cut) => cut,
            Err(failure) => {
                if failures.insert(failure.to_string()) {
                    warn(failure);
                }
                None
            }
        };
        let mut again = engine::judge_again(&session, &mut sound, instrument, &settings);
        otherwise += trade(&session, &mut sound, instrument, &settings, &mut again);
        judged += again.judged;
        soundless += again.soundless;
        for other in again.differ {
            let ((then, of), (now, _)) = (other.then, other.now);
            // Another version of the ear may hear otherwise, which is no fault of the record.
            let same = session.began.ear == EAR_VERSION;
            differ += usize::from(same);
            let by = if same { "when judged again" } else { "by the ear of today" };
            say(format!("cue {}: {then} of {of} then, {now} {by}", other.cue))?;
        }
    }
    say(summary(judged, soundless, sentences, differ))?;
    match otherwise {
        0 => Ok(()),
        _ => say(format!(
            "Of {} the band sounded otherwise then, or its record does not tell how: that cannot be taken out again.",
            numbered(otherwise, "traded answer")
        )),
    }
}

/// Judges the phrases of a trade again: the band is made once more and taken out of what the microphone heard. What a MIDI instrument
/// said has no band in it, and is judged as it was said. Gives the number of answers whose band cannot be made any more.
fn trade(
    session: &Session,
    sound: &mut dyn FnMut((u64, u64)) -> Option<Clip>,
    instrument: &Instrument,
    settings: &EarSettings,
    again: &mut JudgedAgain,
) -> usize {
    let all = session.traded.iter().filter(|trial| trial.judgement.is_some()).count();
    let kept = session.band.iter().any(|chorus| chorus.sound.is_some());
    let recorded = RecordedTrade::of(session).filter(|it| it.sounds_the_same() || session.began.by_midi);
    let Some(recorded) = recorded else {
        again.soundless += if kept { 0 } else { all };
        return if kept { all } else { 0 };
    };
    let judged_by = (session.began.delay, instrument.intonation);
    let mut judged = 0;
    for run in recorded.runs() {
        let answers = if session.began.by_midi {
            as_said(&recorded, &run, judged_by)
        } else {
            let stretches = run.kept().into_iter().map_while(|place| stretch(place, sound)).collect::<Vec<_>>();
            let made = stretches.first().and_then(|first| recorded.sound(&run, first.clip.rate));
            made.map_or_else(Vec::new, |made| {
                engine::trade_again(&run.plan, run.place, &made, stretches, settings, judged_by)
            })
        };
        for answer in answers.iter().filter(|answer| answer.over) {
            let trial = recorded.trial(answer.exchange.cue.number);
            let Some(then) = trial.and_then(|trial| trial.judgement.as_ref()) else { continue };
            judged += 1;
            again.compare(then, &answer.verdict, answer.varied.map(|it| it.taken));
        }
    }
    again.judged += judged;
    again.soundless += all.saturating_sub(judged);
    0
}

/// The answers of a run as a MIDI instrument said them.
fn as_said(
    recorded: &RecordedTrade<'_>,
    run: &RecordedRun<'_>,
    (delay, intonation): (Option<Seconds>, Intonation),
) -> Vec<JudgedExchange> {
    let at = |beat| run.place.instant(run.plan.tempo.lasting(beat));
    let answer = |exchange: &Exchange| {
        let heard = &recorded.trial(exchange.cue.number)?.answer.as_ref()?.heard;
        Some(JudgedExchange::of(exchange, heard, &at, delay, intonation))
    };
    run.plan.exchanges().filter_map(answer).collect()
}

/// A stretch of kept sound; `None` where it is no longer whole.
fn stretch(place: RecordedSound, sound: &mut dyn FnMut((u64, u64)) -> Option<Clip>) -> Option<InputStretch> {
    let clip = sound((place.first, place.count)).filter(|clip| clip.samples.len() as u64 == place.count)?;
    Some(InputStretch { clip, from: place.from, until: place.until, whole: true })
}

/// How many answers were judged again, and how many verdicts differ.
fn summary(judged: usize, soundless: usize, sentences: usize, differ: usize) -> String {
    let differ = match differ {
        0 => "nothing differs".to_owned(),
        1 => "1 differs".to_owned(),
        _ => format!("{differ} differ"),
    };
    let sentences = numbered(sentences, "sentence");
    let none = if soundless == 1 { "1 has no sound" } else { &format!("{soundless} have no sound") };
    match (judged, soundless) {
        (0, 0) => "judged again: nothing, for no answer was judged".to_owned(),
        (0, _) => format!("no answer was judged again: {none}; {sentences} made again: {differ}"),
        (_, 0) => format!("judged again: {}, and {sentences} made again: {differ}", numbered(judged, "answer")),
        _ => format!("judged again: {}, {none}; {sentences} made again: {differ}", numbered(judged, "answer")),
    }
}
