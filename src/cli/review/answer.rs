//! One answer of a review, to hear.

use std::path::Path;

use crate::files::{self, SessionEntry};
use crate::session::Session;
use crate::sound::Clip;
use crate::talk::answer_sound::numbered;
use crate::talk::failure::{Failure, clean};
use crate::talk::loudspeaker;
use crate::talk::output::say;

/// Writes the sound of a numbered answer as WAV.
pub fn write(typed: &[String], sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let [number, out] = typed else { return Err(Failure::usage("--wav needs a number and a file", "--wav 1 out.wav")) };
    let number = number.parse().map_err(|_| {
        Failure::usage(format!("\"{}\" is no number of an answer", clean(number)), "Such as --wav 1 out.wav.")
    })?;
    let (clip, sentence) = numbered(number, sessions, listed)?;
    files::write_wav(Path::new(out), &clip)?;
    say(format!("{}: {:.1} s. {sentence}", clean(out), clip.length().0))
}

/// Plays the sound of a numbered answer.
pub fn play(number: usize, sessions: &[Session], listed: &[&SessionEntry]) -> Result<(), Failure> {
    let (clip, sentence) = numbered(number, sessions, listed)?;
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    say(sentence)?;
    loudspeaker::play(&settings, "--wav N OUT needs no loudspeaker.", |rate| {
        clip.at_rate(rate).unwrap_or(Clip { rate, samples: Vec::new() })
    })
}
