//! `class`: one row for each player, and what of a lesson is done.

use std::path::Path;

use crate::cli::args::lesson::ClassTyped;
use crate::files::{self, write_named};
use crate::report::{self, ClassSitting, class_sitting};
use crate::session::{LessonMark, Session};
use crate::talk::failure::{Failure, clean};
use crate::talk::lessons;
use crate::talk::output::{say, warn};
use crate::talk::read_records;
use crate::talk::sitting::after_today;

/// Shows a class at a glance.
pub fn run(typed: &ClassTyped) -> Result<(), Failure> {
    let today = match &typed.day {
        None => files::today().day,
        Some(day) => report::day_of(day).ok_or_else(|| {
            Failure::usage(format!("\"{}\" is no day of the calendar", clean(day)), "Such as --day 2026-11-30.")
        })?,
    };
    let set: Vec<LessonMark> =
        typed.lessons.iter().map(|file| Ok(lessons::mark(&lessons::open(file)?))).collect::<Result<_, Failure>>()?;
    let mut found = files::survey_below(&typed.paths);
    for path in found.once() {
        warn(format!("{} is there twice and counts once", clean(&path.display().to_string())));
    }
    let later: Vec<String> = found.later(today).iter().map(|it| after_today(&it.path, &it.began)).collect();
    if let Some(file) = &typed.html {
        let sessions = read_records::made(&found.listed, &Session::clone, &mut found.failures);
        warn_of(&found.failures, &later);
        return page(file, &sessions, &set, today);
    }
    let sittings = read_records::made(&found.listed, &class_sitting, &mut found.failures);
    let rows = report::class(&sittings, &set, today);
    if typed.json {
        let unreadable: Vec<String> = found.failures.iter().map(ToString::to_string).collect();
        return say(report::class_json(&rows, today, &unreadable, &later));
    }
    warn_of(&found.failures, &later);
    if rows.is_empty() {
        return Err(Failure::input("these paths", "no sitting is there", "A finished sitting is one zip file."));
    }
    say(report::class_to_text(&rows, today).trim_end())
}

fn warn_of(failures: &[files::FileError], later: &[String]) {
    failures.iter().for_each(warn);
    later.iter().for_each(warn);
}

fn page(file: &Path, sessions: &[Session], set: &[LessonMark], today: i32) -> Result<(), Failure> {
    let sittings: Vec<ClassSitting> = sessions.iter().map(class_sitting).collect();
    let rows = report::class(&sittings, set, today);
    let pages = report::class_pages(sessions, &rows);
    write_named(file, report::class_to_html(&rows, &pages, today).as_bytes())?;
    say(format!(
        "the page is {}; it names players and what they lack, so give it only to whom it concerns",
        clean(&file.display().to_string())
    ))
}
