use std::fmt::Write;

use crate::cue::Form;
use crate::lesson::Lesson;
use crate::lesson::fields::{CUES, REGISTERS};
use crate::pattern;

/// Prints a lesson in its one canonical text: the fields in order, without those that have their usual value (but name and seed are
/// always there), then the patterns that travel inside.
#[must_use]
pub fn print(lesson: &Lesson) -> String {
    let mut out = String::from("# A lesson for earfirst: earfirst drill --lesson THIS_FILE\n");
    let mut field = |name: &str, value: String| {
        // Writing into a String cannot fail.
        let _ = writeln!(out, "{name} = {value}");
    };
    field("lesson", crate::lesson::read::VERSION.to_string());
    field("name", quoted(&lesson.name));
    field("patterns", list(&lesson.patterns));
    if !lesson.keys.is_empty() {
        field("keys", list(&lesson.keys));
    }
    if lesson.concert {
        field("concert", "true".to_owned());
    }
    if lesson.cue != Form::Pattern {
        field("cue", quoted(word(&CUES, lesson.cue)));
    }
    for (name, tempo) in [("tempo", lesson.tempo), ("goal", lesson.goal)] {
        tempo.iter().for_each(|tempo| field(name, tempo.to_string()));
    }
    lesson.register.iter().for_each(|register| field("register", quoted(word(&REGISTERS, *register))));
    lesson.minutes.iter().for_each(|minutes| field("minutes", minutes.to_string()));
    field("days", lesson.days.to_string());
    lesson.by.iter().for_each(|by| field("by", quoted(by)));
    if !lesson.charts.is_empty() {
        field("charts", list(&lesson.charts));
    }
    field("seed", lesson.seed.to_string());
    if lesson.trial {
        field("trial", "true".to_owned());
    }
    for own in &lesson.own {
        out.push('\n');
        out.push_str(&pattern::print(own));
    }
    out
}

fn word<T: PartialEq>(words: &[(&'static str, T)], value: T) -> &'static str {
    words.iter().find(|row| row.1 == value).map_or("", |row| row.0)
}

fn list(texts: &[String]) -> String {
    format!("[{}]", texts.iter().map(|text| quoted(text)).collect::<Vec<_>>().join(", "))
}

/// A TOML basic string (TOML 1.0, "String") of a text without control characters.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}
