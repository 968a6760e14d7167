//! One answer of a review, to hear.

use std::path::Path;

use crate::engine::{self, DeviceAudio};
use crate::files::{self, SessionEntry};
use crate::report::{self, numbered_take};
use crate::session::Session;
use crate::sound::Clip;
use crate::talk::chosen_devices::loudspeaker;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::say;

/// The sound of the answer that stands under a number, and the sentence that was shown; `listed` are the files of the sittings.
fn answer(number: usize, sessions: &[Session], listed: &[&SessionEntry]) -> Result<(Clip, String), Failure> {
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

/// What a MIDI instrument said for a cue, as sound.
pub(super) fn by_midi(session: &Session, cue: u32) -> Option<Clip> {
    let trial = session.trials.iter().find(|trial| session.began.by_midi && trial.cue.number == cue)?;
    engine::sounded_notes(&trial.answer.as_ref()?.heard, session.began.a4)
}

/// Writes it as WAV.
pub fn write(typed: &[String], sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let [number, out] = typed else { return Err(Failure::usage("--wav needs a number and a file", "--wav 1 out.wav")) };
    let number = number.parse().map_err(|_| {
        Failure::usage(format!("\"{}\" is no number of an answer", clean(number)), "Such as --wav 1 out.wav.")
    })?;
    let (clip, sentence) = answer(number, sessions, listed)?;
    files::write_wav(Path::new(out), &clip)?;
    say(format!("{}: {:.1} s. {sentence}", clean(out), clip.length().0))
}

/// Plays it.
pub fn play(number: usize, sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let (clip, sentence) = answer(number, sessions, listed)?;
    let gone = |why: &dyn std::fmt::Display| {
        Failure::device(why, "earfirst devices lists what is there; --wav N OUT needs no loudspeaker.")
    };
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    say(sentence)?;
    let _quiet = engine::quiet();
    let mut audio = DeviceAudio::open(&loudspeaker(&settings)).map_err(|failure| gone(&failure))?;
    let at = |rate| clip.at_rate(rate).unwrap_or(Clip { rate, samples: Vec::new() });
    audio.play_to_end(at).map_err(|why| gone(&why))
}
