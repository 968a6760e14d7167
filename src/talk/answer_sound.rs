//! The sound of an answer that was kept: to hear, to write, or for the page.

use crate::engine;
use crate::files::{SessionEntry, flac_of};
use crate::report::{self, ChosenTake, numbered_take};
use crate::session::Session;
use crate::sound::Clip;
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::units::SampleRate;

/// Sample rate of the sounds in a page, in hertz: it carries sound up to 12 kHz at a third of the size.
const PAGE_RATE: u32 = 24_000;

/// The sound of the answer that stands under a number, and the sentence that was shown; `listed` are the files of the sittings.
pub fn numbered(number: usize, sessions: &[Session], listed: &[&SessionEntry]) -> Result<(Clip, String), Failure> {
    let review = report::review(sessions);
    let Some((take, session)) = numbered_take(number, &review, sessions) else {
        let mend = "The numbers stand before the answers in earfirst review PATH.";
        return Err(Failure::usage(format!("no answer of this review has the number {number}"), mend));
    };
    let none = || Failure::usage(format!("the sound of answer {number} was not kept"), "Choose another one.");
    let clip = match (take.sound, listed.get(session)) {
        (Some(place), Some(listed)) => listed.read()?.sounds()?.cut(place)?,
        _ => sessions.get(session).and_then(|session| by_midi(session, take.cue)),
    };
    Ok((clip.ok_or_else(none)?, take.sentence.clone()))
}

/// The notes that a MIDI instrument said for a cue, as sound.
pub fn by_midi(session: &Session, cue: u32) -> Option<Clip> {
    let trial = session.trials.iter().find(|trial| session.began.by_midi && trial.cue.number == cue)?;
    engine::sounded_notes(&trial.answer.as_ref()?.heard, session.began.a4)
}

/// The sound of an answer for the page, as FLAC; `None` where none was kept, or where it cannot be read, and a warning says so.
pub fn on_page(take: &ChosenTake, session: Option<&Session>, listed: Option<&&SessionEntry>) -> Option<Vec<u8>> {
    if take.rendered { for_page(by_midi(session?, take.cue)?) } else { recorded(take, listed?) }
}

/// The recorded sound of one answer as FLAC; `None` where it was not kept, or where it cannot be read, and a warning says so.
fn recorded(take: &ChosenTake, listed: &SessionEntry) -> Option<Vec<u8>> {
    let place = take.sound?;
    let stored = listed.read().inspect_err(|failure| warn(failure)).ok()?;
    let mut sounds = stored.sounds().inspect_err(|failure| warn(failure)).ok()?;
    for_page(sounds.cut(place).inspect_err(|failure| warn(failure)).ok()??)
}

/// The sound as FLAC at a lower rate, so that the sounds of a whole week fit into a letter.
fn for_page(clip: Clip) -> Option<Vec<u8>> {
    flac_of(&SampleRate::new(PAGE_RATE).and_then(|rate| clip.at_rate(rate)).unwrap_or(clip))
}
