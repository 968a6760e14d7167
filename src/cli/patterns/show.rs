//! `patterns show`: one pattern in words, degrees and chord tones, and on request its notes in a key.

use crate::cli::args::{Player, Third};
use crate::files;
use crate::music::ConcertKey;
use crate::pattern::{self, InRegisters, Pattern, Register};
use crate::report;
use crate::talk::failure::Failure;
use crate::talk::library::{library, pattern};
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::words::pattern_rows;

/// Shows the pattern.
pub fn run(name: &str, key: Option<&str>, register: Option<Third>, player: &Player, json: bool) -> Result<(), Failure> {
    let library = library()?;
    let pattern = pattern(&library, name)?;
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    let who = Who::of(player, &settings)?;
    let begun = library.get(&pattern.id).map(begun).unwrap_or_default();
    let key = key.map(|key| who.key(key)).transpose()?;
    let lines = key.map(|key| lines(&pattern, key, register, &who)).transpose()?;
    if json {
        return say(report::pattern_json(&pattern, &begun, key.zip(lines), &who.page));
    }
    let mut rows = pattern_rows::rows(&pattern);
    rows.extend(pattern_rows::sounds_as(&library, &pattern));
    rows.extend(pattern_rows::begins_on(&pattern, &begun));
    rows.extend(pattern_rows::breath(&pattern, &who.page.instrument));
    if let Some((key, lines)) = key.zip(lines) {
        rows.extend(pattern_rows::in_key(&pattern, &lines, key, &who.page, who.range, who.compass));
    }
    rows.iter().try_for_each(|row| say(row.trim_end()))
}

/// The notes of the pattern in a key, in one register or in each.
fn lines(pattern: &Pattern, key: ConcertKey, register: Option<Third>, who: &Who) -> Result<Vec<InRegisters>, Failure> {
    let registers = register.map_or(Register::ALL.to_vec(), |third| vec![third.into()]);
    pattern::in_registers(pattern, key, &registers, who.range).map_err(|refusal| who.no_fit(key, refusal))
}

/// The same pattern begun on each of the other notes on which it may begin.
fn begun(pattern: &Pattern) -> Vec<Pattern> {
    pattern::starts(pattern).into_iter().filter_map(|start| pattern::begun_on(pattern, start)).collect()
}
