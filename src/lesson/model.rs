use std::fmt;

use crate::cue::Form;
use crate::pattern::{Pattern, Register};

/// A lesson: what a teacher sets, for how long, and until when.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// The name of the lesson.
    pub name: String,
    /// Patterns by id, in order; at least one.
    pub patterns: Vec<String>,
    /// The keys, in order, as they stand on the player's page (with `concert` as they sound); empty means all twelve.
    pub keys: Vec<String>,
    /// Whether `keys` are those that sound, for players of several instruments together.
    pub concert: bool,
    /// The form of the cue before an answer.
    pub cue: Form,
    /// Tempo at which a key that was never asked begins, or at which a trial asks everything, quarters a minute.
    pub tempo: Option<u32>,
    /// Tempo to reach, quarters a minute; `None` where the lesson names none.
    pub goal: Option<u32>,
    /// The only register that is asked; `None` for all.
    pub register: Option<Register>,
    /// Length of a sitting, in minutes, 1 to 600; `None` where the lesson names none.
    pub minutes: Option<u32>,
    /// Number of days on which the lesson is to be practised.
    pub days: u32,
    /// The last day on which the lesson may be practised, as a date such as 2026-12-07; `None` where the lesson names none.
    pub by: Option<String>,
    /// Chord charts to trade over, by name or as their text.
    pub charts: Vec<String>,
    /// Seed of the generator.
    pub seed: u32,
    /// Whether this is a trial: every pattern once in every key, in an order that the seed fixes, one try each, no help.
    pub trial: bool,
    /// Patterns that travel inside the lesson, since the player may lack them.
    pub own: Vec<Pattern>,
}

/// One thing wrong with a lesson.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LessonTrouble {
    /// The line of the text, counted from 1.
    pub line: usize,
    /// The column in that line, in characters counted from 1.
    pub column: usize,
    /// What is wrong, and what was expected.
    pub what: String,
    /// Whether a newer earfirst could read the lesson.
    pub newer: bool,
}

impl LessonTrouble {
    /// A trouble at this byte of a text.
    pub(super) fn at(text: &str, byte: usize, what: impl Into<String>) -> Self {
        let byte = (0..=byte.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
        let before = &text[..byte];
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let column = before[line_start..].chars().count() + 1;
        Self { line: before.matches('\n').count() + 1, column, what: what.into(), newer: false }
    }
}

impl fmt::Display for LessonTrouble {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}:{}: {}", self.line, self.column, self.what)
    }
}
