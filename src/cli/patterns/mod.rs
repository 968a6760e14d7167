//! Commands on the library of patterns: list, show, check, sound, learn, import, export.

mod exchange;
mod learn;
mod list;
mod show;
mod sound;

use crate::cli::args::patterns::{Listed, PatternAction, Patterns};
use crate::talk::failure::Failure;
use crate::talk::pattern_check::check;

/// Runs a command on the library; without one its patterns are listed.
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
