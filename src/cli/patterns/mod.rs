//! Commands on the library of patterns: list, show, check, sound, learn, import, export.

pub mod exchange;
mod learn;
mod list;
mod show;
mod sound;

use std::path::Path;

use crate::cli::args::patterns::{Listed, PatternAction, Patterns};
use crate::files;
use crate::pattern::{self, Library, Pattern};
use crate::report;
use crate::talk::failure::Failure;
use crate::talk::output::say;
use crate::words::numbers::counted;

/// The library: list, show, check, sound, learn, import, export.
pub fn run(typed: &Patterns) -> Result<(), Failure> {
    match &typed.action {
        None => list::run(&Listed::default()),
        Some(PatternAction::List(typed)) => list::run(typed),
        Some(PatternAction::Show { pattern, key, register, player, json }) => {
            show::run(pattern, key.as_deref(), *register, player, *json)
        }
        Some(PatternAction::Check { file, json }) => check(file, *json),
        Some(PatternAction::Sound(typed)) => sound::run(typed),
        Some(PatternAction::Learn(typed)) => learn::run(typed),
        Some(PatternAction::Import(typed)) => exchange::import(typed),
        Some(PatternAction::Export { pattern, player, register, midi, musicxml, accidentals }) => {
            exchange::export(pattern, player, (*register).into(), midi.as_deref(), musicxml.as_deref(), *accidentals)
        }
    }
}

fn check(file: &Path, json: bool) -> Result<(), Failure> {
    let text = files::read_patterns(file)?;
    let name = file.display().to_string();
    let troubles = pattern::check(&text, &name);
    let (patterns, _) = pattern::read(&text, &name);
    let hides: Vec<&Pattern> =
        patterns.iter().filter_map(|own| Library::builtin().get(&own.id).filter(|shipped| *shipped != own)).collect();
    if json {
        say(report::checked_json(&name, patterns.len(), &troubles, &hides))?;
    } else {
        hides.iter().try_for_each(|shipped| say(hidden(&name, shipped)))?;
    }
    if json {
    } else if troubles.is_empty() {
        say(format!("{name}: {}, no trouble", counted(patterns.len(), "pattern")))?;
    } else {
        troubles.iter().try_for_each(say)?;
    }
    if troubles.is_empty() {
        return Ok(());
    }
    Err(Failure::input(file.display(), counted(troubles.len(), "trouble"), "Mend them and check again."))
}

/// What is said where an own pattern goes by the id of one that comes with the program.
fn hidden(file: &str, shipped: &Pattern) -> String {
    format!(
        "{file}: `{}` takes the place of the library's \"{}\"; give it another id to have both",
        shipped.id, shipped.name
    )
}
