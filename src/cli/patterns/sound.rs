//! `patterns sound`: a pattern played on the loudspeaker, or written as WAV.

use std::path::Path;

use crate::cli::args::patterns::Sounded;
use crate::cue::{Cue, Rendering};
use crate::engine::{self, DeviceAudio};
use crate::files;
use crate::talk::chosen_devices::loudspeaker;
use crate::talk::failure::Failure;
use crate::talk::library::{cue, library, pattern};
use crate::talk::output::say;
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
    match &typed.wav {
        Some(wav) => write(&cue, &who, wav),
        None => play(&cue, &who, &settings),
    }
}

fn write(cue: &Cue, who: &Who, wav: &Path) -> Result<(), Failure> {
    let rendering = Rendering { a4: who.a4, ..Rendering::new(SampleRate::CD) };
    let clip = crate::cue::sound(cue, &rendering).clip;
    files::write_wav(wav, &clip)?;
    say(format!("{}: {:.1} s, peaks at {:.1} dB of full scale", wav.display(), clip.length().0, clip.peak().0))
}

fn play(cue: &Cue, who: &Who, settings: &files::UserSettings) -> Result<(), Failure> {
    let gone = |why: &dyn std::fmt::Display| {
        Failure::device(why, "earfirst devices lists what is there; --wav OUT needs no loudspeaker.")
    };
    let _quiet = engine::quiet();
    let mut audio = DeviceAudio::open(&loudspeaker(settings)).map_err(|failure| gone(&failure))?;
    let rendered = |rate| crate::cue::sound(cue, &Rendering { a4: who.a4, ..Rendering::new(rate) }).clip;
    audio.play_to_end(rendered).map_err(|why| gone(&why))
}
