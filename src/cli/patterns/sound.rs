//! `patterns sound`: a pattern played on the loudspeaker, or written as WAV.

use std::sync::Arc;

use crate::cli::args::patterns::Sounded;
use crate::cue::{FULL, Rendering, signs_in_turn};
use crate::files::{Places, UserSettings};
use crate::sound::Clip;
use crate::talk::failure::Failure;
use crate::talk::library::{cue, library, pattern};
use crate::talk::loudspeaker;
use crate::talk::player::{Who, tempo};
use crate::units::{SampleRate, Tempo};

/// The name, in place of a pattern's, of the signs by which a drill by ear tells things.
const SIGNS: &str = "signs";

/// Sounds the pattern or the signs that were typed.
pub fn run(typed: &Sounded) -> Result<(), Failure> {
    let settings = UserSettings::load(&Places::usual()?)?;
    if typed.pattern == SIGNS {
        return sounded(typed, &settings, |rate| Arc::new(signs_in_turn(rate, FULL)));
    }
    let library = library()?;
    let found = pattern(&library, &typed.pattern)?;
    let who = Who::of(&typed.player, &settings)?;
    let tempo = tempo(Some(typed.tempo))?.unwrap_or(Tempo(typed.tempo));
    let cue = cue(&found, who.key(&typed.key)?, typed.register.into(), &who, tempo)?;
    sounded(typed, &settings, |rate| crate::cue::sound(&cue, &Rendering { a4: who.a4, ..Rendering::new(rate) }).clip)
}

fn sounded(typed: &Sounded, settings: &UserSettings, clip: impl Fn(SampleRate) -> Arc<Clip>) -> Result<(), Failure> {
    match &typed.wav {
        Some(wav) => loudspeaker::write(wav, &clip(SampleRate::CD)),
        None => loudspeaker::play(settings, "--wav OUT needs no loudspeaker.", clip),
    }
}
