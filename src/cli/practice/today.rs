//! `today`: a plan for a number of minutes, said and followed.

use crate::cli::args::today::TodayTyped;
use crate::cli::args::{Demo, DrillTyped, Practice, Scope};
use crate::cli::practice::{demo, drill};
use crate::engine::{DeviceAudio, SittingEnd};
use crate::files::{self, Places, UserSettings};
use crate::room::DeviceError as NoSound;
use crate::talk::asked::Meant;
use crate::talk::day::{DayAsked, PlannedDay};
use crate::talk::failure::Failure;
use crate::talk::library::library;
use crate::talk::output::{say, warn};
use crate::talk::{chosen_devices, first_run, lessons, sitting_screen, who};

/// Opens the practice room: the lesson or the plan of the day where there is one, else the drill by the settings; with the simulated
/// player where the devices do not open.
pub fn room() -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    if first_run::asks(&stored) || first_run::asks_minutes(&stored) {
        // Nothing is asked before it is known that there is sound. The microphone is given back at once, because the range may be played.
        say("Opening microphone and loudspeaker ...")?;
        if let Err(failure) = DeviceAudio::open(&chosen_devices::kept(&stored)) {
            return stand_in(&failure);
        }
        if first_run::asks(&stored) {
            first_run::ask(&mut stored, None, None, &places)?;
        }
    }
    let typed = TodayTyped::default();
    let minutes = first_run::minutes(&mut stored, &places)?;
    if lesson_first(&stored, &typed, &places)? {
        return Ok(());
    }
    if let Some(minutes) = minutes {
        return match follow(&typed, minutes, &mut stored, &places)? {
            Some(failure) => stand_in(&failure),
            None => Ok(()),
        };
    }
    let mut drill = DrillTyped::default();
    drill::consent(&mut drill, &mut stored, &places)?;
    match drill::with(&drill, &mut stored, &places)? {
        SittingEnd::NoSound(failure) => stand_in(&failure),
        ending => sitting_screen::farewell(ending),
    }
}

/// Runs the demo with the simulated player where nothing sounds.
fn stand_in(failure: &NoSound) -> Result<(), Failure> {
    warn(failure);
    warn("no sound here, so a simulated player stands in; earfirst drill says more");
    demo::run(&Demo::default())
}

/// Says the plan and follows it.
pub fn run(typed: &TodayTyped) -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    let begins = !typed.simulated && !typed.show;
    if begins && typed.player.instrument.is_none() && first_run::asks(&stored) {
        first_run::ask(&mut stored, typed.player_name.as_deref(), None, &places)?;
    }
    let minutes = match typed.minutes {
        Some(minutes) => Some(minutes),
        None => first_run::minutes(&mut stored, &places)?,
    };
    let Some(minutes) = minutes else {
        let mend = "Give --minutes 20, or have day.minutes = 20 in your settings.";
        return Err(Failure::usage("a plan needs to know how many minutes there are", mend));
    };
    if !typed.simulated && lesson_first(&stored, typed, &places)? {
        return Ok(());
    }
    match follow(typed, minutes, &mut stored, &places)? {
        Some(failure) => sitting_screen::farewell(SittingEnd::NoSound(failure)),
        None => Ok(()),
    }
}

/// Says that a lesson is due, which comes before the plan, and begins it unless the plan is only shown; gives whether it was begun.
fn lesson_first(stored: &UserSettings, typed: &TodayTyped, places: &Places) -> Result<bool, Failure> {
    let Some(file) = lessons::due(stored, typed.player_name.as_deref(), places)? else { return Ok(false) };
    say("Your teacher's lesson comes before the plan of the day.")?;
    if typed.show {
        return Ok(false);
    }
    let scope = Scope { player: typed.player.clone(), player_name: typed.player_name.clone(), ..Scope::default() };
    let practice = Practice { lesson: Some(file), plain: typed.plain, scope, ..Practice::default() };
    drill::run(&DrillTyped { practice, ..DrillTyped::default() })?;
    Ok(true)
}

/// Says the plan and follows it; gives what went wrong where there is no sound.
fn follow(
    typed: &TodayTyped,
    minutes: f64,
    stored: &mut UserSettings,
    places: &Places,
) -> Result<Option<NoSound>, Failure> {
    let (today, name) = (files::today(), &typed.player_name);
    let scope = Scope { player: typed.player.clone(), player_name: name.clone(), ..Scope::default() };
    let day = DayAsked {
        minutes,
        meant: Meant::of(&scope, stored, &library()?, today.day)?,
        player: who::known_already(name.as_deref(), stored)?.map(|player| player.id),
        simulated: typed.simulated.then_some(typed.fast),
        plain: typed.plain,
        seed: typed.seed.unwrap_or_else(|| today.seed() % 1_000_000),
    };
    let day = PlannedDay::of(day, stored, places)?;
    day.tell()?;
    // The screen would hide the plan at once, so the drill waits until the player has read it.
    if typed.show || !(typed.plain || typed.fast || first_run::begins()) {
        return Ok(None);
    }
    let patterns = day.plan.patterns.iter().map(|pattern| pattern.0.clone()).collect();
    let scope = Scope { patterns, minutes: Some(day.plan.drilled.0 / 60.0), ..scope };
    let closing_round = day.round;
    let practice = Practice { scope, plain: typed.plain, seed: typed.seed, closing_round, ..Practice::default() };
    let end = if typed.simulated {
        demo::ended(&Demo { practice, fast: typed.fast, ..Demo::default() })?
    } else {
        let mut drill = DrillTyped { practice, ..DrillTyped::default() };
        drill::consent(&mut drill, stored, places)?;
        match drill::with(&drill, stored, places)? {
            SittingEnd::NoSound(failure) => return Ok(Some(failure)),
            end => end,
        }
    };
    day.goes_on(end, stored, places).map(|()| None)
}
