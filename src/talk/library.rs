use std::fmt::Display;

use crate::cue::Cue;
use crate::files;
use crate::music::{ConcertKey, Degree};
use crate::pattern::{self, Library, Pattern, Register};
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::talk::player::Who;
use crate::units::Tempo;

/// The built-in library with the player's own files; warnings name the first trouble in these files, and own patterns
/// that stand in place of the library's.
pub fn library() -> Result<Library, Failure> {
    let (library, troubles) = read()?;
    // A slip in the player's own file stops nobody who practises from the library.
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

/// The built-in library with the player's own files, and what is wrong in these.
fn read() -> Result<(Library, Vec<impl Display>), Failure> {
    let own: Vec<(String, String)> = files::Places::usual()?
        .pattern_files()?
        .into_iter()
        .map(|(path, text)| (path.display().to_string(), text))
        .collect();
    Ok(Library::with_own(own.iter().map(|(name, text)| (name.as_str(), text.as_str()))))
}

/// Refuses a name that no pattern has, before anything else is said.
pub fn check_names(typed: &[String]) -> Result<(), Failure> {
    patterns(&read()?.0, typed).map(drop)
}

/// The patterns that were typed; `None` where none were.
pub fn patterns(library: &Library, typed: &[String]) -> Result<Option<Vec<Pattern>>, Failure> {
    let named = typed.iter().map(|name| pattern(library, name)).collect::<Result<Vec<_>, _>>()?;
    Ok((!named.is_empty()).then_some(named))
}

/// A pattern of the library by what was typed, or one begun on another of its notes: `five-note-row-up-and-down-from-2`.
pub fn pattern(library: &Library, typed: &str) -> Result<Pattern, Failure> {
    let unknown = match library.find(typed) {
        Ok(found) => return Ok(found.clone()),
        Err(unknown) => unknown,
    };
    let Some((name, start)) = typed.trim().rsplit_once("-from-") else {
        return Err(Failure::usage(unknown, "earfirst patterns list shows them all."));
    };
    let found = library.find(name).map_err(|_| Failure::usage(unknown, "earfirst patterns list shows them all."))?;
    let start_degree = Degree::parse(&start.replace("sharp", "#"));
    start_degree.and_then(|start| pattern::begun_on(found, start)).ok_or_else(|| {
        let what = format!("{} cannot begin on \"{start}\"", found.name);
        Failure::usage(what, format!("earfirst patterns show {} tells on which notes it can.", found.id))
    })
}

/// A pattern as it would be cued in one register of the player's range.
pub fn cue(found: &Pattern, key: ConcertKey, register: Register, who: &Who, tempo: Tempo) -> Result<Cue, Failure> {
    let line = pattern::realise(found, key, None, who.range, register).map_err(|refusal| who.no_fit(key, refusal))?;
    Ok(Cue::new(found, key, register, tempo, line))
}
