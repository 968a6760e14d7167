use std::fmt::Write;

use crate::pattern::cycle::Cycle;
use crate::pattern::file::READS;
use crate::pattern::meter::Meter;
use crate::pattern::model::{Notation, Pattern};
use crate::pattern::quality::Quality;
use crate::pattern::sequence::Sequence;
use crate::pattern::time::Unit;
use crate::pattern::token::{Reads, print_notes};

/// A pattern as the `[[pattern]]` table of a file: fields in the canonical order, those with their usual values left out, but
/// `over` and `source` are always there. What is printed reads back as the same pattern.
#[must_use]
pub fn print(pattern: &Pattern) -> String {
    let mut out = String::from("[[pattern]]\n");
    let mut field = |name: &str, value: String| {
        // Writing into a String cannot fail.
        let _ = writeln!(out, "{name} = {value}");
    };
    field("id", quoted(&pattern.id.0));
    field("name", quoted(&pattern.name));
    field("family", quoted(pattern.family.name()));
    field("level", pattern.level.to_string());
    if !pattern.trains.is_empty() {
        field("trains", quoted(&pattern.trains));
    }
    field("tempo", format!("[{}, {}]", pattern.tempo.low.0, pattern.tempo.high.0));
    field("over", over(&pattern.over));
    let Notation { reads, meter, unit, tokens, scale, sequence, repeats, pickup } = &pattern.notation;
    if *meter != Meter::default() {
        field("meter", quoted(meter.name()));
    }
    if *unit != Unit::default() {
        field("unit", quoted(name_of(&Unit::NAMES, *unit)));
    }
    if *reads != Reads::default() {
        field("reads", quoted(name_of(&READS, *reads)));
    }
    field("notes", quoted(&print_notes(tokens)));
    if let Some(scale) = scale {
        let degrees: Vec<String> = scale.iter().map(ToString::to_string).collect();
        field("scale", quoted(&degrees.join(" ")));
    }
    if pattern.swing {
        field("swing", "true".into());
    }
    if *pickup > 0 {
        field("pickup", pickup.to_string());
    }
    if *repeats > 1 {
        field("repeats", repeats.to_string());
    }
    if let Some((sequence, times)) = sequence {
        field("sequence", quoted(name_of(&Sequence::NAMES, *sequence)));
        field("times", times.to_string());
    }
    if pattern.cycle != Cycle::default() {
        field("cycle", quoted(pattern.cycle.name()));
    }
    field("source", quoted(&pattern.source));
    out
}

/// A whole file: the patterns in order, a blank line between them.
#[must_use]
pub fn print_file<'p>(patterns: impl IntoIterator<Item = &'p Pattern>) -> String {
    patterns.into_iter().map(print).collect::<Vec<_>>().join("\n")
}

fn over(over: &[Quality]) -> String {
    let names: Vec<String> = over.iter().map(|quality| quoted(quality.name())).collect();
    if names.is_empty() { quoted("any") } else { format!("[{}]", names.join(", ")) }
}

/// A TOML basic string (TOML 1.0, "String"), in which quotes, backslashes and control characters are escaped.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", c as u32);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

fn name_of<T: PartialEq>(names: &[(&'static str, T)], value: T) -> &'static str {
    names.iter().find(|row| row.1 == value).map_or("", |row| row.0)
}
