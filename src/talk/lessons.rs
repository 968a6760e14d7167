//! A teacher's lesson: its file opened, and what it asks in words.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::chart::Forms;
use crate::cue::Form;
use crate::files::{self, Places, UserSettings, read_lesson, sha256_hex, write_named};
use crate::lesson::{self, Lesson};
use crate::pattern::Register;
use crate::report;
use crate::session::{LessonMark, PlayerId};
use crate::talk::failure::{Failure, clean};
use crate::talk::output::{say, warn};
use crate::talk::who;
use crate::words::numbers::{list, numbered};

/// Opens a lesson.
pub fn open(path: &Path) -> Result<Lesson, Failure> {
    let text = read_lesson(path)?;
    let place = clean(&path.display().to_string());
    let read = lesson::read(&text).map_err(|troubles| {
        let newer = troubles.iter().any(|trouble| trouble.newer);
        let (first, others) = match troubles.split_first() {
            Some((first, others)) => (format!("{place}:{first}"), others),
            None => (place.clone(), &[][..]),
        };
        let rest: String = others.iter().take(20).map(|trouble| format!("\n  also {trouble}")).collect();
        let mend = if newer {
            "Install a newer earfirst, or ask whoever wrote the lesson for one that this one can read."
        } else {
            "Mend it there, or ask whoever wrote it for the lesson again."
        };
        Failure::usage(format!("{first}{rest}"), mend)
    })?;
    for typed in &read.charts {
        let mut lines = (1..).zip(text.lines()).skip_while(|(_, line)| !line.trim_start().starts_with("charts"));
        let line = lines.find(|(_, line)| line.contains(typed.as_str())).map_or(1, |(line, _)| line);
        chart(typed).map_err(|failure| Failure { what: format!("{place}:{line}: {}", failure.what), ..failure })?;
    }
    Ok(read)
}

/// Writes a lesson into a file, and says what it asks.
///
/// # Errors
/// When another lesson lies there: records name a lesson by its text, so the one that students have would be lost.
pub fn write(lesson: &Lesson, file: &Path) -> Result<(), Failure> {
    let text = lesson::print(lesson);
    let place = clean(&file.display().to_string());
    if read_lesson(file).is_ok_and(|there| there != text) {
        let mend = "Give the new lesson another name; or remove the old one, if nobody practises it.";
        return Err(Failure::usage(format!("another lesson lies in {place}"), mend));
    }
    write_named(file, text.as_bytes())?;
    tell(lesson)?;
    if lesson.by.as_deref().and_then(report::day_of).is_some_and(|by| by < files::today().day) {
        warn("its last day is over already");
    }
    say(format!("kept in {place}; a player begins it with: earfirst drill --lesson {place}"))
}

/// Keeps which lesson was begun last, so that it comes before the plan of the day until it is done.
pub fn keep(file: &Path, places: &Places) {
    let place = std::path::absolute(file).unwrap_or_else(|_| file.to_owned()).display().to_string();
    if let Err(failure) = UserSettings::change(places, |stored| stored.day.lesson = Some(place)) {
        warn(format!("which lesson you practise is not kept: {failure}"));
    }
}

/// The file of the lesson that was begun last, where its time is not over and it was practised neither today nor on all its days.
pub fn due(stored: &UserSettings, named: Option<&str>, places: &Places) -> Result<Option<PathBuf>, Failure> {
    let Some(file) = stored.day.lesson.as_ref().map(PathBuf::from) else { return Ok(None) };
    // A lesson that was moved, or can no longer be read, is passed over without a word.
    let Ok(lesson) = open(&file) else { return Ok(None) };
    let (mark, today) = (mark(&lesson), files::today().day);
    let player = who::known_already(named, stored)?.map(|player| player.id);
    let over = mark.by.as_deref().and_then(report::day_of).is_some_and(|by| by < today);
    let sittings = files::indexed(places).sittings.into_iter().map(|it| it.figures.began);
    let mine = sittings.filter(|it| !it.simulated && it.trade.is_none() && stored.owns(player, it));
    let days: BTreeSet<i32> =
        mine.filter(|it| it.lesson.as_ref().is_some_and(|it| it.sha256 == mark.sha256)).map(|it| it.day).collect();
    let done = days.contains(&today) || days.len() >= mark.days as usize;
    Ok((!over && !done).then_some(file))
}

/// What names a lesson in the records: the SHA-256 of its canonical text, with its name, days, date and charts, and whether it is a
/// trial.
pub fn mark(lesson: &Lesson) -> LessonMark {
    LessonMark {
        name: lesson.name.clone(),
        sha256: sha256_hex(lesson::print(lesson).as_bytes()),
        days: lesson.days,
        by: lesson.by.clone(),
        trial: lesson.trial,
        charts: lesson.charts.clone(),
    }
}

/// The chart of a lesson that is traded over next: the one that was named, else the first over which this player has not traded,
/// or the first of all where there is none.
pub fn chart_of(
    lesson: &Lesson,
    typed: Option<&str>,
    player: Option<PlayerId>,
    stored: &UserSettings,
    places: &Places,
) -> Result<String, Failure> {
    let Some(first) = lesson.charts.first() else {
        let what = format!("the lesson \"{}\" names no chart", lesson.name);
        return Err(Failure::usage(what, "earfirst drill --lesson FILE asks what it sets."));
    };
    if let Some(typed) = typed {
        let named = chart(typed)?;
        let mend = format!("It names {}.", list(&lesson.charts));
        let other = || Failure::usage(format!("the lesson \"{}\" has another chart", lesson.name), mend);
        return lesson.charts.iter().find(|it| **it == named).cloned().ok_or_else(other);
    }
    let sha256 = mark(lesson).sha256;
    let sittings = files::indexed(places).sittings.into_iter().map(|it| it.figures);
    let mine = sittings.filter(|it| stored.owns(player, &it.began) && it.sounding.0 > 0.0);
    let mine = mine.filter(|it| it.began.lesson.as_ref().is_some_and(|it| it.sha256 == sha256));
    let done: BTreeSet<String> =
        mine.filter_map(|it| it.began.trade).filter(|trade| trade.free.is_none()).map(|trade| trade.chart).collect();
    Ok(lesson.charts.iter().find(|it| !done.contains(*it)).unwrap_or(first).clone())
}

/// Says in a few lines what a lesson asks.
pub fn tell(lesson: &Lesson) -> Result<(), Failure> {
    let mark = mark(lesson);
    let kind = if lesson.trial { "trial" } else { "lesson" };
    let by = lesson.by.as_ref().map_or_else(String::new, |by| format!(", by {by}"));
    say(format!("{kind} \"{}\": {}, {}{by}", lesson.name, list(&lesson.patterns), keys(lesson)))?;
    let tempo = lesson.tempo.map(|it| format!("from quarter = {it}"));
    let goal = lesson.goal.map(|it| format!("to quarter = {it}"));
    let register = lesson.register.map(|register| match register {
        Register::Low => "low register".to_owned(),
        Register::Middle => "middle register".to_owned(),
        Register::High => "high register".to_owned(),
    });
    let cue = match lesson.cue {
        Form::Pattern => "after the whole pattern",
        Form::FirstNote => "after its first note",
        Form::Chord => "after the chord",
        Form::NameOnly => "after the key's name",
    };
    let how: Vec<String> = [Some(cue.to_owned()), tempo, goal, register].into_iter().flatten().collect();
    say(format!("  {}", how.join(", ")))?;
    if lesson.trial {
        say("  each once, one try, at one tempo, without help, in an order that the lesson fixes")?;
    } else {
        let minutes =
            lesson.minutes.map_or_else(String::new, |it| format!(", {} each", numbered(it as usize, "minute")));
        say(format!("  on {}{minutes}", numbered(lesson.days as usize, "day")))?;
    }
    if !lesson.charts.is_empty() {
        say(format!("  and to trade over, with earfirst trade --lesson FILE: {}", lesson.charts.join("; ")))?;
    }
    say(format!("  SHA-256 {}", mark.sha256))
}

fn keys(lesson: &Lesson) -> String {
    let sounding = if lesson.concert { "sounding " } else { "" };
    if lesson.keys.is_empty() { "all twelve keys".to_owned() } else { format!("{sounding}{}", lesson.keys.join(" ")) }
}

/// A chart that a lesson may name: a form that every earfirst has, or its own chords.
pub fn chart(typed: &str) -> Result<String, Failure> {
    if typed.contains('|') {
        crate::talk::named_charts::chart(typed)?;
        return Ok(typed.to_owned());
    }
    let mend = "A form of your own travels as its chords: --chart \"| Dm7 | G7 | Cmaj7 | % |\".";
    Forms::builtin().find(typed).map(|form| form.id.clone()).map_err(|unknown| Failure::usage(unknown, mend))
}
