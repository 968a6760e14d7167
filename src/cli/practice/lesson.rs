//! `lesson`: a lesson is written or shown; and what a drill of a lesson is begun with.

use crate::cli::args::lesson::{LessonCommands, LessonNew};
use crate::cli::args::{Practice, Third};
use crate::cue::Form;
use crate::files::UserSettings;
use crate::lesson::{self, Lesson};
use crate::music::{Mode, WrittenKey};
use crate::pattern::{Library, Pattern, Register};
use crate::talk::failure::{Failure, clean};
use crate::talk::lessons;
use crate::talk::library::{library, pattern};
use crate::talk::output::say;
use crate::talk::player::Who;

/// Writes or tells a lesson.
pub fn run(typed: &LessonCommands) -> Result<(), Failure> {
    match typed {
        LessonCommands::New(typed) => new(typed),
        LessonCommands::Show { file } => lessons::tell(&lessons::open(file)?),
    }
}

fn new(typed: &LessonNew) -> Result<(), Failure> {
    let lesson = made(typed)?;
    let text = lesson::print(&lesson);
    // The lesson is read back, so that whatever is written can be opened again.
    lesson::read(&text).map_err(|troubles| {
        let what = troubles.first().map_or_else(String::new, |trouble| trouble.what.clone());
        Failure::usage(what, "earfirst lesson new --help shows an example.")
    })?;
    match &typed.to {
        None => say(text.trim_end()),
        Some(file) => lessons::write(&lesson, file),
    }
}

fn made(typed: &LessonNew) -> Result<Lesson, Failure> {
    let library = library()?;
    let (mut patterns, mut own) = (Vec::new(), Vec::new());
    for name in &typed.patterns {
        let found = pattern(&library, name)?;
        if patterns.contains(&found.id.0) {
            continue;
        }
        patterns.push(found.id.0.clone());
        if !everybody_has(&found) {
            own.push(found);
        }
    }
    let usual = || patterns.first().cloned().unwrap_or_default();
    Ok(Lesson {
        name: typed.name.clone().unwrap_or_else(usual),
        keys: keys(typed.keys.as_deref().unwrap_or("all"))?,
        concert: typed.concert,
        cue: typed.cue.map_or(Form::Pattern, Form::from),
        tempo: typed.tempo,
        goal: typed.goal,
        register: typed.register.map(Register::from),
        minutes: typed.minutes,
        days: typed.days,
        by: typed.by.clone(),
        charts: typed.charts.iter().map(|chart| lessons::chart(chart)).collect::<Result<_, _>>()?,
        seed: typed.seed,
        trial: typed.trial,
        patterns,
        own,
    })
}

/// Whether the pattern comes with the program, so that it need not travel with the lesson.
fn everybody_has(found: &Pattern) -> bool {
    pattern(Library::builtin(), &found.id.0).is_ok_and(|shipped| shipped == *found)
}

fn keys(typed: &str) -> Result<Vec<String>, Failure> {
    if typed.eq_ignore_ascii_case("all") {
        return Ok(Vec::new());
    }
    let mut keys = Vec::new();
    for name in typed.split([' ', ',']).filter(|name| !name.is_empty()) {
        let unknown =
            || Failure::usage(format!("no key is called \"{}\"", clean(name)), "Such as --keys \"C G Bb F#\".");
        let key = WrittenKey::parse(name).ok_or_else(unknown)?.name(false).to_owned();
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    Ok(keys)
}

/// The arguments of a drill of the lesson, as if its player had typed them; the keys are named as this player reads them.
pub(super) fn as_typed(lesson: &Lesson, typed: &Practice, settings: &UserSettings) -> Result<Practice, Failure> {
    let page = Who::of(&typed.scope.player, settings)?.page;
    let sheet = if lesson.concert { page.in_concert_pitch() } else { page.clone() };
    let sounding = |key: &str| WrittenKey::parse(key).map(|key| sheet.sounding_key(key));
    let keys: Vec<String> =
        lesson.keys.iter().filter_map(|key| sounding(key)).map(|key| page.key(key, Mode::Major)).collect();
    let mut practice = typed.clone();
    practice.seed = Some(u64::from(lesson.seed));
    let scope = &mut practice.scope;
    scope.patterns.clone_from(&lesson.patterns);
    scope.player.keys = (!keys.is_empty()).then(|| keys.join(" "));
    scope.cue = Some(lesson.cue.into());
    (scope.tempo, scope.goal) = (lesson.tempo.map(f64::from), lesson.goal.map(f64::from));
    scope.register = lesson.register.map(|register| match register {
        Register::Low => Third::Low,
        Register::Middle => Third::Middle,
        Register::High => Third::High,
    });
    // A trial ends when everything was asked.
    scope.minutes = lesson.minutes.filter(|_| !lesson.trial).map(f64::from);
    Ok(practice)
}
