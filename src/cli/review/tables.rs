//! `tables`: the records of a class for a database.

use crate::cli::args::TablesTyped;
use crate::files::{Places, SchoolKey};
use crate::talk::failure::{Failure, clean};
use crate::talk::output::say;
use crate::talk::school;

/// Writes the tables.
pub fn run(typed: &TablesTyped) -> Result<(), Failure> {
    school::class_name(&typed.class)?;
    let place = typed.key.clone().map_or_else(|| Ok(Places::usual()?.school_key()), Ok::<_, Failure>)?;
    school::outside(&place, &typed.to)?;
    let months = school::gathered(&typed.paths)?;
    let (key, made) = SchoolKey::of(&place)?;
    for (month, listed) in months {
        let [sittings, answers, notes] = school::write(&typed.to, &typed.class, &month, &listed, &key)?;
        say(format!("{month}: {sittings} sittings, {answers} answers, {notes} notes asked"))?;
    }
    let place = clean(&place.display().to_string());
    say(format!("players are named by the key in {place}{}", if made { ", which was made now" } else { "" }))?;
    say("who has that key can tell who is who: it stays with the school, and the tables go without it")
}
