//! What is said of files that cannot be read, that lie there twice, or that are dated after the day that is looked at: the first few of
//! a kind by name, then how many more there are. A folder of photographs would fill the screen otherwise.

use std::fmt::Display;
use std::path::PathBuf;

use crate::files::{self, FileError, SessionEntry};
use crate::report::date;
use crate::session::Began;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::warn;
use crate::talk::sitting::after_today;
use crate::words::numbers::numbered;

/// How many files of a kind are named.
const NAMED: usize = 5;

/// Warns of files that could not be read, or not to their end.
pub fn unreadable(failures: &[FileError]) {
    few(failures.iter(), |more| format!("{} more could not be read, or not all of it", numbered(more, "file")));
}

/// Warns of files of which a fuller copy is there.
pub fn twice(paths: &[PathBuf]) {
    let told =
        paths.iter().map(|path| format!("{} is there twice and counts once", clean(&path.display().to_string())));
    few(told, |more| format!("{} more of such copies", numbered(more, "file")));
}

/// Warns of sittings that are dated later than tomorrow.
pub fn later<'a>(sittings: impl ExactSizeIterator<Item = (&'a PathBuf, &'a Began)>) {
    let told = sittings.map(|(path, began)| after_today(path, began));
    few(told, |more| format!("{} more dated after today", numbered(more, "sitting")));
}

/// Warns of sittings after the day that was typed, or of those that are dated later than tomorrow where none was.
pub fn after(day: Option<i32>, sittings: &[SessionEntry]) {
    match day {
        Some(_) if sittings.is_empty() => {}
        Some(day) => warn(format!("{} after {} not looked at", numbered(sittings.len(), "sitting"), date(day))),
        None => later(sittings.iter().map(|it| (&it.path, &it.began))),
    }
}

/// What is said where no sitting is there: why the first file could not be read, where one was found.
pub fn none(failures: Vec<FileError>) -> Failure {
    match failures.into_iter().next() {
        Some(failure) => {
            let why = Failure::from(failure);
            Failure { what: format!("no sitting could be read: {}", why.what), ..why }
        }
        None => Failure::input("these paths", "no sitting is there", "A finished sitting is one zip file."),
    }
}

/// The day that was typed, or today.
pub fn day(typed: Option<&str>) -> Result<i32, Failure> {
    let Some(day) = typed else { return Ok(files::today().day) };
    let no = || Failure::usage(format!("\"{}\" is no day of the calendar", clean(day)), "Such as --day 2026-11-30.");
    crate::report::day_of(day).ok_or_else(no)
}

fn few<T: Display>(told: impl ExactSizeIterator<Item = T>, others: impl Fn(usize) -> String) {
    let more = told.len().saturating_sub(NAMED);
    told.take(NAMED).for_each(warn);
    if more > 0 {
        warn(format!("and {}", others(more)));
    }
}
