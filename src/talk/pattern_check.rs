//! What is wrong in a file of patterns.

use std::path::Path;

use crate::files;
use crate::pattern::{self, Library, Pattern};
use crate::report;
use crate::talk::failure::Failure;
use crate::talk::output::say;
use crate::words::numbers::counted;

/// Says all that is to be mended in the file, and which of its patterns hide a pattern of the library.
pub fn check(file: &Path, json: bool) -> Result<(), Failure> {
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

/// What is said where an own pattern has the id of one that comes with the program.
fn hidden(file: &str, shipped: &Pattern) -> String {
    format!(
        "{file}: `{}` takes the place of the library's \"{}\"; give it another id to have both",
        shipped.id, shipped.name
    )
}
