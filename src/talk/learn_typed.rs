//! What is typed about a learnt line: notes to be put right, and its name.

use crate::learn::{Correction, id};
use crate::pattern::{Library, PatternId};
use crate::talk::failure::Failure;

/// Reads the typed corrections of notes.
pub fn mends(typed: &[String]) -> Result<Vec<Correction>, Failure> {
    let read = |text: &String| {
        Correction::parse(text).ok_or_else(|| {
            let what = format!("\"{text}\" puts no note right");
            Failure::usage(what, "Such as 3=b7 (its degree), 3=. (a rest) or 3=- (the note before holds on).")
        })
    };
    typed.iter().map(read).collect()
}

/// A typed name, refused where no id can be made of it.
pub fn a_name(name: &str) -> Result<String, Failure> {
    if id(name).is_empty() {
        return Err(Failure::usage(format!("\"{name}\" is no name"), "Use letters and digits, such as blue-fall."));
    }
    Ok(name.trim().to_owned())
}

/// A typed name, refused where a pattern has it already.
pub fn new_name(name: &str, library: &Library) -> Result<String, Failure> {
    let name = a_name(name)?;
    match library.get(&PatternId(id(&name))) {
        Some(there) => {
            Err(Failure::usage(format!("there is already a pattern \"{}\"", there.name), "Choose another name."))
        }
        None => Ok(name),
    }
}

/// The first of "my line 1", "my line 2" ... that no pattern has yet.
pub fn free_name(library: &Library) -> String {
    let free = |n: &u32| library.get(&PatternId(format!("my-line-{n}"))).is_none();
    format!("my line {}", (1..).find(free).unwrap_or(1))
}
