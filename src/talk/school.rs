//! The tables of a school: which records go into which month. (Feature `school`.)

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::files::{self, MonthOfTables, SchoolKey, SessionEntry};
use crate::report::{Pseudonyms, month_of};
use crate::session::Session;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::warn;
use crate::talk::told_files;

/// Checks that a class may have this name, which becomes part of a folder's name.
pub fn class_name(class: &str) -> Result<(), Failure> {
    let plain = |sign: char| sign.is_ascii_lowercase() || sign.is_ascii_digit() || sign == '-';
    if class.is_empty() || class.len() > 40 || !class.chars().all(plain) {
        let what = format!("\"{}\" cannot be the name of a class", clean(class));
        return Err(Failure::usage(what, "At most 40 small letters, digits and dashes, such as --class brass-2026."));
    }
    Ok(())
}

/// The sittings below some paths by their months, each once. Sittings dated later than tomorrow are left out, and a warning
/// names them.
///
/// # Errors
/// When there is no sitting.
pub fn gathered(paths: &[PathBuf]) -> Result<BTreeMap<String, Vec<SessionEntry>>, Failure> {
    let mut found = files::survey_below(paths);
    told_files::twice(&found.once());
    told_files::after(None, &found.later(files::today().day));
    told_files::unreadable(&found.failures);
    let mut months: BTreeMap<String, Vec<SessionEntry>> = BTreeMap::new();
    for listed in found.listed {
        if let Some(month) = month_of(listed.began.day) {
            months.entry(month).or_default().push(listed);
        }
    }
    if months.is_empty() {
        return Err(told_files::none(found.failures));
    }
    Ok(months)
}

/// Refuses a key that would lie among the tables and be handed on with them.
///
/// # Errors
/// When the key would lie there.
pub fn outside(key: &Path, tables: &Path) -> Result<(), Failure> {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    if whole(key).starts_with(whole(tables)) {
        return Err(Failure::usage("the key would lie among the tables", "Keep it elsewhere: --key FILE."));
    }
    Ok(())
}

/// Writes one month of a class, the sittings of each player on each instrument together and in the order of time; gives the number
/// of rows of each table.
///
/// # Errors
/// When the place cannot be written.
pub fn write(
    to: &Path,
    class: &str,
    month: &str,
    listed: &[SessionEntry],
    key: &SchoolKey,
) -> Result<[usize; 3], Failure> {
    let mut listed: Vec<(String, &SessionEntry)> = listed
        .iter()
        .map(|it| (key.word("player", &it.began.player.as_ref().map(|who| who.id.to_string()).unwrap_or_default()), it))
        .collect();
    listed.sort_by(|a, b| {
        let order = |it: &(String, &SessionEntry)| (it.0.clone(), it.1.began.instrument.clone(), it.1.began.day);
        order(a).cmp(&order(b)).then_with(|| a.1.began.started.cmp(&b.1.began.started))
    });
    let mut tables = MonthOfTables::new(to, class, month);
    for (_, entry) in listed {
        match entry.read() {
            Ok(stored) => {
                if let Some(damage) = &stored.damage {
                    warn(format!("{}: {damage}", clean(&stored.path.display().to_string())));
                }
                if let Some(session) = Session::of(stored.events) {
                    tables.add(&session, key)?;
                }
            }
            Err(failure) => warn(&failure),
        }
    }
    Ok(tables.finish()?)
}
