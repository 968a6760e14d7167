//! Words round the record: its text for a reader without earfirst, and what became of sittings that were cut off.

use crate::engine;
use crate::files::Places;
use crate::report;
use crate::session::Session;
use crate::talk::failure::clean;
use crate::talk::output::warn;

/// The text of a sitting for a reader without earfirst.
pub fn review(session: &Session) -> String {
    report::sittings_to_text(std::slice::from_ref(session))
}

/// Makes complete files of sittings that were cut off, and says of each sitting where it is kept now.
pub fn finish_what_was_left(places: &Places) {
    for finished in engine::finish_what_was_left(places, review) {
        match finished {
            Ok(path) => warn(format!("a sitting that was cut off is kept in {}", clean(&path.display().to_string()))),
            Err(failure) => warn(failure),
        }
    }
}
