//! `today`: a plan for the minutes there are, said, and kept to.

use std::time::Instant;

use crate::cli::args::today::TodayTyped;
use crate::cli::args::{Demo, DrillTyped, Practice, Scope};
use crate::cli::practice::planned_day::{PlannedDay, planned_day};
use crate::cli::practice::{demo, drill, trade};
use crate::devices::DeviceError as NoSound;
use crate::engine::{DeviceAudio, Finished, SittingEnd};
use crate::files::{self, Places, UserSettings};
use crate::session::Session;
use crate::talk::failure::Failure;
use crate::talk::output::{say, warn};
use crate::talk::{chosen_devices, first_run, lessons, sitting_screen};
use crate::units::Seconds;

/// What is left of a drill that was ended by hand is more than this part of it; a drill that ends by itself keeps to its time.
const EARLY: f64 = 0.9;

/// The practice room: the lesson or the plan of the day where there is one, else the drill with what the settings hold; the
/// simulated player where there is no sound card.
pub fn room() -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    if first_run::asks(&stored) || first_run::asks_minutes(&stored) {
        // Nobody is asked anything before it is known that there is sound; and the range may be played, so the microphone is
        // given back.
        say("Opening microphone and loudspeaker ...")?;
        if let Err(failure) = DeviceAudio::open(&chosen_devices::devices(None, None, &stored)) {
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

/// The simulated player, where nothing sounds.
fn stand_in(failure: &NoSound) -> Result<(), Failure> {
    warn(failure);
    warn("no sound here, so a simulated player stands in; earfirst drill says more");
    demo::run(&Demo::default())
}

/// Says the plan and follows it.
pub fn run(typed: &TodayTyped) -> Result<(), Failure> {
    let places = Places::usual()?;
    let mut stored = UserSettings::load(&places)?;
    let minutes = match typed.minutes {
        Some(minutes) => Some(minutes),
        None => first_run::minutes(&mut stored, &places)?,
    };
    let Some(minutes) = minutes else {
        let mend = "Give --minutes 20, or have day.minutes = 20 in your settings.";
        return Err(Failure::usage("a plan needs to know how many minutes there are", mend));
    };
    if !typed.simulated && !typed.show && lesson_first(&stored, typed, &places)? {
        return Ok(());
    }
    match follow(typed, minutes, &mut stored, &places)? {
        Some(failure) => sitting_screen::farewell(SittingEnd::NoSound(failure)),
        None => Ok(()),
    }
}

/// A lesson that is not done outranks the plan; whether there is one.
fn lesson_first(stored: &UserSettings, typed: &TodayTyped, places: &Places) -> Result<bool, Failure> {
    let Some(file) = lessons::due(stored, typed.player_name.as_deref(), places)? else { return Ok(false) };
    say("Your teacher's lesson comes before the plan of the day.")?;
    let scope = Scope { player_name: typed.player_name.clone(), ..Scope::default() };
    let practice = Practice { lesson: Some(file), plain: typed.plain, scope, ..Practice::default() };
    drill::run(&DrillTyped { practice, ..DrillTyped::default() })?;
    Ok(true)
}

/// Says the plan and follows it; what went wrong where there is no sound.
fn follow(
    typed: &TodayTyped,
    minutes: f64,
    stored: &mut UserSettings,
    places: &Places,
) -> Result<Option<NoSound>, Failure> {
    let day = planned_day(typed, minutes, stored, places)?;
    day.told.iter().try_for_each(say)?;
    if typed.show {
        return Ok(None);
    }
    let practice = practice(typed, &day);
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
    let (lasted, met) = done(&end, &day);
    sitting_screen::farewell(end)?;
    let early = lasted.is_some_and(|lasted| lasted.0 < EARLY * day.plan.drilled.0);
    let mut phrases_left = day.phrases.is_some() && early;
    if let (Some(phrases), false) = (&day.phrases, early) {
        say("\nNow joined phrases; q ends them.")?;
        let begun = Instant::now();
        trade::run(phrases)?;
        phrases_left = !typed.fast && begun.elapsed().as_secs_f64() < EARLY * day.traded.0;
    }
    if !typed.simulated {
        keep_left(&day, met, phrases_left, places);
    }
    Ok(None)
}

/// What the drill is begun with.
fn practice(typed: &TodayTyped, day: &PlannedDay) -> Practice {
    Practice {
        scope: Scope {
            patterns: day.plan.patterns.iter().map(|pattern| pattern.0.clone()).collect(),
            player: typed.player.clone(),
            player_name: typed.player_name.clone(),
            minutes: Some(day.plan.drilled.0 / 60.0),
            ..Scope::default()
        },
        plain: typed.plain,
        seed: typed.seed,
        ..Practice::default()
    }
}

/// How long the drill lasted by its own record, and whether what is new was answered.
fn done(end: &SittingEnd, day: &PlannedDay) -> (Option<Seconds>, bool) {
    let SittingEnd::Finished(Finished::Stored(path, _)) = end else { return (None, false) };
    let stored = files::read_sessions(std::slice::from_ref(path)).sessions.into_iter().next();
    let Some(session) = stored.and_then(|stored| Session::of(stored.events)) else { return (None, false) };
    let met = session.trials.iter().any(|trial| Some(&trial.cue.pattern) == day.new.as_ref() && trial.answered());
    (Some(session.until), met)
}

/// Keeps what was left for the next plan.
fn keep_left(day: &PlannedDay, met: bool, phrases: bool, places: &Places) {
    let new = day.new.as_ref().filter(|_| !met).map(|pattern| pattern.0.clone());
    if let Err(failure) = UserSettings::change(places, |stored| stored.leave_over(day.player, day.day, new, phrases)) {
        warn(format!("what was left is not kept: {failure}"));
    }
}
