use std::path::Path;

use crate::cli::failure::Failure;
use crate::cli::meant::Who;
use crate::cli::pattern_args::{Listed, PatternAction, Patterns};
use crate::cli::{exchange, learn, listed, say, shown, shown_json, sounded, warn};
use crate::files;
use crate::pattern::{self, Library, Pattern, Register};
use crate::words::numbers::counted;

/// The library: list, show, check, sound, learn, import, export.
pub fn run(typed: &Patterns) -> Result<(), Failure> {
    match &typed.action {
        None => listed::run(&Listed::default()),
        Some(PatternAction::List(typed)) => listed::run(typed),
        Some(PatternAction::Show { pattern, key, register, player, json }) => {
            shown::run(pattern, key.as_deref(), *register, player, *json)
        }
        Some(PatternAction::Check { file, json }) => check(file, *json),
        Some(PatternAction::Sound(typed)) => sounded::run(typed),
        Some(PatternAction::Learn(typed)) => learn::run(typed),
        Some(PatternAction::Import(typed)) => exchange::import(typed),
        Some(PatternAction::Export { pattern, player, register, midi, musicxml, accidentals }) => {
            exchange::export(pattern, player, (*register).into(), midi.as_deref(), musicxml.as_deref(), *accidentals)
        }
    }
}

/// The builtin library with the player's own files; a file with troubles is told, not swallowed.
pub(super) fn library() -> Result<Library, Failure> {
    let own: Vec<(String, String)> = files::Places::usual()?
        .pattern_files()?
        .into_iter()
        .map(|(path, text)| (path.display().to_string(), text))
        .collect();
    let (library, troubles) = Library::with_own(own.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    // Whoever practises from the library is not stopped by a slip in a file of one's own.
    if let Some(first) = troubles.first() {
        let more = if troubles.len() > 1 { format!(" (and {} more)", troubles.len() - 1) } else { String::new() };
        let all = "earfirst patterns check FILE lists all that is to be mended.";
        warn(format!("left out of your patterns: {first}{more}\n  {all}"));
    }
    let hidden: Vec<&str> = library
        .patterns()
        .iter()
        .filter(|own| Library::builtin().get(&own.id).is_some_and(|shipped| shipped != *own))
        .map(|own| own.id.0.as_str())
        .collect();
    if !hidden.is_empty() {
        warn(format!("your own {} in place of the library's of that name", hidden.join(", ")));
    }
    Ok(library)
}

fn check(file: &Path, json: bool) -> Result<(), Failure> {
    let text = std::fs::read_to_string(file)
        .map_err(|error| Failure::input(file.display(), error, "Name a TOML file of patterns."))?;
    let name = file.display().to_string();
    let troubles = pattern::check(&text, &name);
    let (patterns, _) = pattern::read(&text, &name);
    let hides: Vec<&Pattern> =
        patterns.iter().filter_map(|own| Library::builtin().get(&own.id).filter(|shipped| *shipped != own)).collect();
    if json {
        say(shown_json::checked(&name, patterns.len(), &troubles, &hides))?;
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

/// A pattern as it would be cued in one register of the player's range.
pub(super) fn cue(
    found: &Pattern,
    key: crate::music::ConcertKey,
    register: Register,
    who: &Who,
    tempo: crate::units::Tempo,
) -> Result<crate::cue::Cue, Failure> {
    let line = pattern::realise(found, key, None, who.range, register)
        .map_err(|refusal| Failure::usage(refusal, "Widen --range, or choose another key."))?;
    Ok(crate::cue::Cue::new(found, key, register, tempo, line))
}
