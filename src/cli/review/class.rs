//! `class`: one row for each player, and what of a lesson is done.

use std::path::Path;

use crate::cli::args::lesson::ClassTyped;
use crate::files::{self, write_named};
use crate::report::{self, ClassSitting, class_sitting};
use crate::session::{LessonMark, Session};
use crate::talk::failure::{Failure, clean};
use crate::talk::lessons;
use crate::talk::output::say;
use crate::talk::sitting::after_today;
use crate::talk::{read_records, told_files};

/// Shows a class at a glance.
pub fn run(typed: &ClassTyped) -> Result<(), Failure> {
    let today = told_files::day(typed.day.as_deref())?;
    let looked_at = typed.day.as_ref().map(|_| today);
    let set: Vec<LessonMark> =
        typed.lessons.iter().map(|file| Ok(lessons::mark(&lessons::open(file)?))).collect::<Result<_, Failure>>()?;
    let mut found = files::survey_below(&typed.paths);
    told_files::twice(&found.once());
    let later = found.later(today);
    if let Some(file) = &typed.html {
        let sessions = read_records::made(&found.listed, &Session::clone, &mut found.failures);
        told_files::unreadable(&found.failures);
        told_files::after(looked_at, &later);
        return page(file, &sessions, &set, today);
    }
    let sittings = read_records::made(&found.listed, &class_sitting, &mut found.failures);
    let rows = report::class(&sittings, &set, today);
    if typed.json {
        let unreadable: Vec<String> = found.failures.iter().map(ToString::to_string).collect();
        let later: Vec<String> = later.iter().map(|it| after_today(&it.path, &it.began)).collect();
        return say(report::class_json(&rows, today, &unreadable, &later));
    }
    if rows.is_empty() {
        told_files::after(looked_at, &later);
        return Err(told_files::none(found.failures));
    }
    // What is wrong with files stands below the table, where it is not scrolled away.
    say(report::class_to_text(&rows, today).trim_end())?;
    told_files::unreadable(&found.failures);
    told_files::after(looked_at, &later);
    Ok(())
}

fn page(file: &Path, sessions: &[Session], set: &[LessonMark], today: i32) -> Result<(), Failure> {
    let sittings: Vec<ClassSitting> = sessions.iter().map(class_sitting).collect();
    let rows = report::class(&sittings, set, today);
    let pages = report::class_pages(sessions, &rows, today);
    write_named(file, report::class_to_html(&rows, &pages, today).as_bytes())?;
    say(format!(
        "the page is {}; it names players and what they lack, so give it only to whom it concerns",
        clean(&file.display().to_string())
    ))
}
