use std::collections::BTreeSet;

use crate::engine;
use crate::files::SessionEntry;
use crate::music;
use crate::notes::EAR_VERSION;
use crate::report;
use crate::session::Session;
use crate::talk::failure::Failure;
use crate::talk::output::{say, warn};
use crate::words::numbers::numbered;

/// Judges the stored sound again, makes every sentence again from the record, and says what differs.
pub fn say_again(listed: &[SessionEntry]) -> Result<(), Failure> {
    let (mut differ, mut judged, mut soundless, mut sentences) = (0, 0, 0, 0);
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
        let again = engine::judge_again(&session, &mut sound, instrument, &settings);
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
    say(summary(judged, soundless, sentences, differ))
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
