use std::ops::RangeInclusive;

use toml::de::{DeTable, DeValue};

use crate::cue::Form;
use crate::lesson::LessonTrouble;
use crate::music::nearest;
use crate::pattern::Register;

/// The fields of a lesson in the order in which they are printed.
pub(super) const FIELDS: [&str; 15] = [
    "lesson", "name", "patterns", "keys", "concert", "cue", "tempo", "goal", "register", "minutes", "days", "by",
    "charts", "seed", "trial",
];
/// The forms of a cue, by the words that are typed for a drill too.
pub(super) const CUES: [(&str, Form); 4] =
    [("pattern", Form::Pattern), ("first-note", Form::FirstNote), ("chord", Form::Chord), ("name", Form::NameOnly)];
/// The thirds of the range, by their words.
pub(super) const REGISTERS: [(&str, Register); 3] =
    [("low", Register::Low), ("middle", Register::Middle), ("high", Register::High)];
/// Most entries of one list.
const MOST: usize = 64;

/// The fields of a lesson, read one by one; what is wrong with them is gathered.
pub(super) struct LessonHead<'t> {
    text: &'t str,
    table: &'t DeTable<'t>,
    /// What is wrong so far.
    pub troubles: Vec<LessonTrouble>,
}

impl<'t> LessonHead<'t> {
    /// The fields of a text; one that no lesson has is a trouble.
    pub(super) fn new(text: &'t str, table: &'t DeTable<'t>) -> Self {
        let mut head = Self { text, table, troubles: Vec::new() };
        for (key, _) in table {
            let name = key.get_ref().as_ref();
            if !FIELDS.contains(&name) {
                let close = nearest(name, FIELDS).map_or_else(|| format!("fields are {}", FIELDS.join(", ")), written);
                head.trouble(key.span().start, format!("no field of a lesson is called {name}; {close}"));
            }
        }
        head
    }

    /// Adds a trouble at a byte of the text.
    pub(super) fn trouble(&mut self, byte: usize, what: impl Into<String>) {
        self.troubles.push(LessonTrouble::at(self.text, byte, what));
    }

    /// Adds a trouble at a field's value, or at the beginning where it is missing.
    pub(super) fn trouble_in(&mut self, field: &str, what: impl Into<String>) {
        let at = self.table.get(field).map_or(0, |value| value.span().start);
        self.trouble(at, what);
    }

    /// Whether the field is there.
    pub(super) fn has(&self, field: &str) -> bool {
        self.table.get(field).is_some()
    }

    /// Reads a field that is one line of text, not blank, of at most 500 characters. `None` where it is missing or, with a trouble, where
    /// it is no such line.
    pub(super) fn line(&mut self, field: &str) -> Option<String> {
        let value = self.table.get(field)?;
        let said = value.get_ref().as_str().filter(|text| plain(text)).map(str::to_owned);
        if said.is_none() {
            self.trouble_in(field, format!("{field} is one line of text in quotes"));
        }
        said
    }

    /// Reads a field that is a list of 1 to [`MOST`] lines of text, each with the byte at which it stands. Empty where the field is missing
    /// or, with a trouble, where it is no such list.
    pub(super) fn lines(&mut self, field: &str) -> Vec<(String, usize)> {
        let Some(value) = self.table.get(field) else { return Vec::new() };
        let said = value.get_ref().as_array().filter(|list| !list.is_empty() && list.len() <= MOST).map(|list| {
            let one = |item: &toml::Spanned<DeValue<'_>>| {
                Some((item.get_ref().as_str().filter(|text| plain(text))?.to_owned(), item.span().start))
            };
            list.iter().map(one).collect::<Option<Vec<_>>>()
        });
        if let Some(Some(list)) = said {
            return list;
        }
        self.trouble_in(field, format!("{field} is a list of texts such as [\"...\", \"...\"], at most {MOST}"));
        Vec::new()
    }

    /// Reads a field that is a whole number within these bounds. `None` where it is missing or, with a trouble, where it is no such number.
    pub(super) fn number(&mut self, field: &str, within: RangeInclusive<u32>) -> Option<u32> {
        let value = self.table.get(field)?;
        let number = value.get_ref().as_integer();
        let number = number.and_then(|number| u32::from_str_radix(number.as_str(), number.radix()).ok());
        let number = number.filter(|number| within.contains(number));
        if number.is_none() {
            self.trouble_in(field, format!("{field} is a whole number from {} to {}", within.start(), within.end()));
        }
        number
    }

    /// Reads a field that is true or false; false where it is missing and, with a trouble, where it is neither.
    pub(super) fn flag(&mut self, field: &str) -> bool {
        let said = self.table.get(field).map(|value| value.get_ref().as_bool());
        if said == Some(None) {
            self.trouble_in(field, format!("{field} is true or false"));
        }
        said.flatten().unwrap_or(false)
    }

    /// Reads a field that is one of a few words, and gives what the word stands for. `None` where it is missing or, with a trouble, where
    /// it is none of them.
    pub(super) fn choice<T: Copy>(&mut self, field: &str, words: &[(&str, T)]) -> Option<T> {
        let said = self.line(field)?;
        let found = words.iter().find(|(word, _)| *word == said).map(|row| row.1);
        if found.is_none() {
            let all: Vec<&str> = words.iter().map(|row| row.0).collect();
            self.trouble_in(field, format!("{field} is one of {}", all.join(", ")));
        }
        found
    }
}

fn written(close: &str) -> String {
    format!("write {close}")
}

fn plain(text: &str) -> bool {
    !text.trim().is_empty() && text.chars().count() <= 500 && !text.chars().any(char::is_control)
}
