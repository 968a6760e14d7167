use std::io::IsTerminal;
use std::time::Duration;

use crate::cli::args::{Demo, Drill, Practice};
use crate::cli::failure::Failure;
use crate::cli::screen::{self, Showing};
use crate::cli::sitting::{Sitting, Who};
use crate::cli::{demo, first, keep};
use crate::devices::{Devices, Quiet, Side, Want, Wanted};
use crate::engine::{Live, Running};
use crate::files::{self, Places, SessionFolder, Settings};
use crate::units::Seconds;

/// So long the devices have to give their first sound.
const PATIENCE: Duration = Duration::from_secs(15);

/// The practice room: the drill with what the settings hold, or the simulated player where there is no sound card.
pub fn room() -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = Settings::load(&places)?;
    let (mut devices, waited) = open(&Drill::default(), &stored);
    if let Err(failure) = waited {
        // Whoever goes on looking for a sound card would write over the screen.
        drop(devices);
        eprintln!("earfirst: {failure}");
        eprintln!("earfirst: no sound here, so a simulated player stands in; earfirst drill says more");
        return demo::run(&Demo::default());
    }
    if first::asks(&stored) {
        // The range may be played: then the microphone is wanted there.
        drop(devices);
        first::ask(&mut stored, &places)?;
        devices = opened(&Drill::default(), &stored)?;
    }
    with(&Practice::default(), &stored, &places, devices)
}

/// Practise at once.
pub fn run(typed: &Drill) -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = Settings::load(&places)?;
    if typed.practice.player.instrument.is_none() && first::asks(&stored) {
        first::ask(&mut stored, &places)?;
    }
    let devices = opened(typed, &stored)?;
    with(&typed.practice, &stored, &places, devices)
}

/// Opens the devices and waits for their first sound; that takes a second, so whoever looks on is told first.
fn open(typed: &Drill, stored: &Settings) -> (Devices, Result<(), crate::devices::Failure>) {
    if std::io::stdout().is_terminal() {
        println!("Opening microphone and loudspeaker ...");
    }
    let hushed = quiet();
    let mut devices = Devices::open(&wanted(typed, stored));
    let waited = devices.wait(PATIENCE);
    drop(hushed);
    (devices, waited)
}

/// The same where nothing else would do.
fn opened(typed: &Drill, stored: &Settings) -> Result<Devices, Failure> {
    let (devices, waited) = open(typed, stored);
    waited.map_err(|failure| {
        Failure::device(failure, "earfirst devices lists what is there; earfirst demo needs no device.")
    })?;
    Ok(devices)
}

/// The system's sound libraries write to standard error whatever they come across: while they look for devices, and while
/// the screen is up, that goes nowhere.
pub fn quiet() -> Option<Quiet> {
    let nowhere = std::fs::OpenOptions::new().write(true).open(if cfg!(windows) { "NUL" } else { "/dev/null" }).ok()?;
    Quiet::begin(&nowhere).ok()
}

/// Devices as typed, as kept, or the system's own.
pub fn wanted(typed: &Drill, stored: &Settings) -> Wanted {
    let want = |typed: &Option<String>, kept: &Option<String>| {
        typed.clone().or_else(|| kept.clone()).map_or(Want::Default, Want::Named)
    };
    Wanted { input: want(&typed.input, &stored.input), output: want(&typed.output, &stored.output), period: None }
}

/// Sittings that were cut off (a kill, a power cut) are made whole files now; what cannot be is told and left as it is.
fn finish_what_was_left(places: &Places) {
    for folder in files::unfinished(&places.sessions()).unwrap_or_default() {
        if let Err(failure) = files::finish_unfinished(&folder, &keep::review) {
            eprintln!("earfirst: {failure}");
        }
    }
}

fn with(typed: &Practice, stored: &Settings, places: &Places, devices: Devices) -> Result<(), Failure> {
    finish_what_was_left(places);
    let input = devices.about(Side::Input).cloned();
    let output = devices.about(Side::Output).cloned();
    let (Some(input), Some(output)) = (input, output) else {
        return Err(Failure::device("the devices went away", "Plug them in again."));
    };
    let delay =
        stored.calibration(&input.id, &output.id, input.period.unwrap_or(0)).map(|kept| Seconds(kept.remainder_s));
    let mut sitting = Sitting::of(typed, stored, places, Who::Player { delay })?;
    sitting.began.rate = input.rate;
    sitting.settings.began.rate = input.rate;
    let showing = Showing { look: sitting.meant.who.look(), plain: typed.plain, answers: None };
    let folder = SessionFolder::begin(places, &sitting.began, sitting.keep);
    let a4 = sitting.meant.who.a4;
    let ending = screen::run(showing, folder, sitting.keep, move |commands, out| {
        let mut live = Live::over(devices);
        let hearing = sitting.hearing(input.rate);
        Running::new(hearing, &mut live, commands, a4, out).run();
    })?;
    screen::farewell(ending)
}
