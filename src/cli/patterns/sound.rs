//! `patterns sound`: a pattern played on the loudspeaker, or written as WAV.

use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use crate::cli::args::Drill;
use crate::cli::args::patterns::Sounded;
use crate::cli::failure::Failure;
use crate::cli::output::say;
use crate::cli::practice::drill;
use crate::cli::resolve::{self, Who, pattern, tempo};
use crate::cue::{Cue, Rendering};
use crate::devices::{DeviceChoice, DeviceRequest};
use crate::files;
use crate::units::{SampleRate, Tempo};

/// So long the loudspeaker has to open.
const PATIENCE: Duration = Duration::from_secs(15);
/// What a device still holds when the last sample was handed to it.
const ENDING: Duration = Duration::from_millis(300);

/// Sounds it.
pub fn run(typed: &Sounded) -> Result<(), Failure> {
    let library = resolve::library()?;
    let found = pattern(&library, &typed.pattern)?;
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    let tempo = tempo(Some(typed.tempo))?.unwrap_or(Tempo(typed.tempo));
    let cue = resolve::cue(&found, who.key(&typed.key)?, typed.register.into(), &who, tempo)?;
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
    let _hushed = drill::quiet();
    let wanted = DeviceRequest { input: DeviceChoice::Nothing, ..drill::wanted(&Drill::default(), settings) };
    let mut devices = drill::open(&wanted).map_err(|failure| gone(&failure))?;
    let rate = devices.output_rate().ok_or_else(|| gone(&"the loudspeaker went away"))?;
    let clip = crate::cue::sound(cue, &Rendering { a4: who.a4, ..Rendering::new(rate) }).clip;
    let id = devices.play(&clip).ok_or_else(|| gone(&"the loudspeaker takes no sound"))?;
    let until = Instant::now() + Duration::from_secs_f64(clip.length().0) + PATIENCE;
    let mut unheard = Vec::new();
    while devices.waits_or_sounds(id) && Instant::now() < until {
        devices.read(&mut unheard);
        thread::sleep(Duration::from_millis(10));
    }
    thread::sleep(ENDING);
    Ok(())
}
