//! `patterns sound`: a pattern played on the loudspeaker, or written as WAV.

use crate::cli::args::patterns::Sounded;
use crate::cue::Rendering;
use crate::files;
use crate::talk::failure::Failure;
use crate::talk::library::{cue, library, pattern};
use crate::talk::loudspeaker;
use crate::talk::player::{Who, tempo};
use crate::units::{SampleRate, Tempo};

/// Sounds it.
pub fn run(typed: &Sounded) -> Result<(), Failure> {
    let library = library()?;
    let found = pattern(&library, &typed.pattern)?;
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    let tempo = tempo(Some(typed.tempo))?.unwrap_or(Tempo(typed.tempo));
    let cue = cue(&found, who.key(&typed.key)?, typed.register.into(), &who, tempo)?;
    let clip = |rate| crate::cue::sound(&cue, &Rendering { a4: who.a4, ..Rendering::new(rate) }).clip;
    match &typed.wav {
        Some(wav) => loudspeaker::write(wav, &clip(SampleRate::CD)),
        None => loudspeaker::play(&settings, "--wav OUT needs no loudspeaker.", clip),
    }
}
