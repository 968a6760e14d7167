use std::time::Duration;

use crate::cli::args::{Demo, Drill};
use crate::cli::failure::Failure;
use crate::cli::output::{say, warn};
use crate::cli::practice::demo;
use crate::cli::practice::first_run;
use crate::cli::practice::keep;
use crate::cli::practice::keep::Ending;
use crate::cli::practice::screen::{self, Ready, Showing};
use crate::cli::practice::sitting::{Sitting, Who};
use crate::devices::{DeviceChoice, DeviceError as NoSound, DeviceRequest, Devices, Side, StderrRedirect};
use crate::engine::Live;
use crate::files::{Places, SessionFolder, UserSettings};
use crate::units::{Decibels, Seconds};

/// So long the devices have to give their first sound.
const PATIENCE: Duration = Duration::from_secs(15);

/// The practice room: the drill with what the settings hold, or the simulated player where there is no sound card.
pub fn room() -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    let mut typed = Drill::default();
    if first_run::asks(&stored) {
        // Nobody is asked anything before it is known that there is sound; and the range may be played, so the microphone is
        // given back.
        say("Opening microphone and loudspeaker ...")?;
        if let Err(failure) = open(&wanted(&typed, &stored)) {
            return stand_in(&failure);
        }
        first_run::ask(&mut stored, &places)?;
    }
    first_run::consent(&mut typed.practice, &mut stored, &places)?;
    match with(&typed, &stored, &places)? {
        Ending::NoSound(failure) => stand_in(&failure),
        ending => screen::farewell(ending),
    }
}

/// The simulated player, where nothing sounds.
fn stand_in(failure: &NoSound) -> Result<(), Failure> {
    warn(failure);
    warn("no sound here, so a simulated player stands in; earfirst drill says more");
    demo::run(&Demo::default())
}

/// Practise at once.
pub fn run(typed: &Drill) -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    if typed.practice.scope.player.instrument.is_none() && first_run::asks(&stored) {
        first_run::ask(&mut stored, &places)?;
    }
    let mut typed = typed.clone();
    first_run::consent(&mut typed.practice, &mut stored, &places)?;
    screen::farewell(with(&typed, &stored, &places)?)
}

/// Opens devices and waits for their first sound, which takes about a second; the sound libraries say nothing meanwhile.
pub fn open(wanted: &DeviceRequest) -> Result<Devices, NoSound> {
    let _hushed = quiet();
    let mut devices = Devices::open(wanted);
    devices.wait(PATIENCE)?;
    Ok(devices)
}

/// The system's sound libraries write to standard error whatever they come across: while they look for devices, and while
/// the screen is up, that goes nowhere.
pub fn quiet() -> Option<StderrRedirect> {
    let nowhere = std::fs::OpenOptions::new().write(true).open(if cfg!(windows) { "NUL" } else { "/dev/null" }).ok()?;
    StderrRedirect::begin(&nowhere).ok()
}

/// Devices as typed, as kept, or the system's own.
pub fn wanted(typed: &Drill, stored: &UserSettings) -> DeviceRequest {
    let want = |typed: &Option<String>, kept: &Option<String>| {
        typed.clone().or_else(|| kept.clone()).map_or(DeviceChoice::Default, DeviceChoice::Named)
    };
    DeviceRequest {
        input: want(&typed.input, &stored.input),
        output: want(&typed.output, &stored.output),
        period: None,
    }
}

/// Runs a sitting whose screen stands while the devices open.
fn with(typed: &Drill, stored: &UserSettings, places: &Places) -> Result<Ending, Failure> {
    keep::finish_what_was_left(places);
    let mut sitting = Sitting::of(&typed.practice, stored, places, Who::Player)?;
    let showing = Showing { look: sitting.meant.who.appearance(), plain: typed.practice.plain, answers: None };
    let (wanted, stored, places) = (wanted(typed, stored), stored.clone(), places.clone());
    screen::run(showing, sitting.keep, move || {
        let devices = open(&wanted)?;
        let (Some(input), Some(output)) = (devices.about(Side::Input), devices.about(Side::Output)) else {
            return Err(NoSound::Silent(Side::Input));
        };
        let measured = stored.calibration(&input.id, &output.id, input.period.unwrap_or(0));
        let rate = input.rate;
        sitting.hears(rate, measured.map(|kept| Seconds(kept.remainder_s)), stored.cue_level(&output.id));
        let keep_level = keep_level(&places, &output.id);
        let folder = SessionFolder::begin(&places, &sitting.settings.began, sitting.keep);
        let (a4, octave_up) = (sitting.meant.who.a4, sitting.octave_up);
        Ok(Ready {
            folder,
            hearing: sitting.hearing(rate),
            sound: Box::new(Live::over(devices)),
            a4,
            octave_up,
            keep_level,
        })
    })
}

/// Keeps, for the next sitting, how loud the cues were that the player answered on this output.
fn keep_level(places: &Places, output: &str) -> Box<dyn FnOnce(Decibels) + Send> {
    let (places, output) = (places.clone(), output.to_owned());
    Box::new(move |level| {
        // Read anew: another earfirst may have written since. What cannot be kept begins softly again, which harms nobody.
        let Ok(mut stored) = UserSettings::load(&places) else { return };
        if stored.cue_level(&output) != Some(level) {
            stored.answered_at(&output, level);
            let _ = stored.save(&places);
        }
    })
}
