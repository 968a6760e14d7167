//! A teacher's lesson: its file opened, and what it asks told.

use std::path::Path;

use crate::chart::Forms;
use crate::files::{read_lesson, sha256_hex};
use crate::lesson::{self, Lesson};
use crate::session::LessonMark;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::say;
use crate::words::numbers::{list, numbered};

/// Opens a lesson.
pub fn open(path: &Path) -> Result<Lesson, Failure> {
    let text = read_lesson(path)?;
    lesson::read(&text).map_err(|troubles| {
        let place = clean(&path.display().to_string());
        let (first, others) = match troubles.split_first() {
            Some((first, others)) => (format!("{place}:{first}"), others),
            None => (place, &[][..]),
        };
        let rest: String = others.iter().take(20).map(|trouble| format!("\n  also {trouble}")).collect();
        Failure::usage(format!("{first}{rest}"), "Mend it there, or ask whoever wrote it for the lesson again.")
    })
}

/// By what a lesson is known in the records: the SHA-256 of its canonical text.
pub fn mark(lesson: &Lesson) -> LessonMark {
    LessonMark {
        name: lesson.name.clone(),
        sha256: sha256_hex(lesson::print(lesson).as_bytes()),
        days: lesson.days,
        by: lesson.by.clone(),
        trial: lesson.trial,
    }
}

/// What is asked, in a few lines.
pub fn tell(lesson: &Lesson) -> Result<(), Failure> {
    let mark = mark(lesson);
    let kind = if lesson.trial { "trial" } else { "lesson" };
    let by = lesson.by.as_ref().map_or_else(String::new, |by| format!(", by {by}"));
    say(format!("{kind} \"{}\": {}, {}{by}", lesson.name, list(&lesson.patterns), keys(lesson)))?;
    if lesson.trial {
        say("  each once, one try, at one tempo, without help, in an order that the lesson fixes")?;
    } else {
        let minutes =
            lesson.minutes.map_or_else(String::new, |it| format!(", {} each", numbered(it as usize, "minute")));
        say(format!("  on {}{minutes}", numbered(lesson.days as usize, "day")))?;
    }
    for chart in &lesson.charts {
        let chart = if chart.contains('|') { format!("\"{chart}\"") } else { chart.clone() };
        say(format!("  and to trade over, which no record counts: earfirst trade {chart}"))?;
    }
    say(format!("  SHA-256 {}", mark.sha256))
}

fn keys(lesson: &Lesson) -> String {
    let sounding = if lesson.concert { "sounding " } else { "" };
    if lesson.keys.is_empty() { "all twelve keys".to_owned() } else { format!("{sounding}{}", lesson.keys.join(" ")) }
}

/// A chart that a lesson may name: a form that every earfirst has, or its own chords.
pub fn chart(typed: &str) -> Result<String, Failure> {
    if typed.contains('|') {
        crate::talk::named_charts::chart(typed)?;
        return Ok(typed.to_owned());
    }
    let mend = "A form of your own travels as its chords: --charts \"| Dm7 | G7 | Cmaj7 | % |\".";
    Forms::builtin().find(typed).map(|form| form.id.clone()).map_err(|unknown| Failure::usage(unknown, mend))
}
