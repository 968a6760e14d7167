use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::chart::misprint::MisprintSpan;
use crate::music::nearest;

/// One table of a file of forms, read field by field, with all misprints that were found in it.
pub(super) struct FormTable<'t> {
    /// The whole file.
    pub text: &'t str,
    /// The fields of this table.
    pub table: &'t DeTable<'t>,
    /// Where the table stands, in bytes of the file.
    pub span: Range<usize>,
    /// The misprints so far.
    pub blots: Vec<MisprintSpan>,
}

impl<'t> FormTable<'t> {
    /// Begins to read a table; each field that is not in `known` is a misprint.
    pub(super) fn new(text: &'t str, table: &'t DeTable<'t>, span: Range<usize>, known: &[&str]) -> Self {
        let mut blots = Vec::new();
        for (key, _) in table {
            let name = key.get_ref().as_ref();
            if !known.contains(&name) {
                let close = nearest(name, known.iter().copied());
                let mend = close.map_or_else(|| format!("fields are {}", known.join(", ")), |c| format!("write `{c}`"));
                blots.push(MisprintSpan::new(key.span(), format!("no field is called {name}"), mend));
            }
        }
        Self { text, table, span, blots }
    }
    /// The place of a field's value, in bytes of the file, or of the table where it lacks the field.
    pub(super) fn place(&self, field: &str) -> Range<usize> {
        self.table.get(field).map_or_else(|| self.span.clone(), Spanned::span)
    }
    /// Adds a misprint at a field, or at the table where it lacks the field.
    pub(super) fn blot(&mut self, field: &str, what: impl Into<String>, mend: impl Into<String>) {
        self.blots.push(MisprintSpan::new(self.place(field), what, mend));
    }
    /// The text of a field, and the byte of the file at which it begins; no byte for a text that is written with escapes. `None` where the
    /// table lacks the field or, with a misprint, where it holds no text.
    pub(super) fn text(&mut self, field: &str) -> Option<(String, Option<usize>)> {
        let value = self.table.get(field)?;
        let Some(text) = value.get_ref().as_str() else {
            self.blot(field, format!("{field} is no text"), "write it in quotes");
            return None;
        };
        let span = value.span();
        let raw = self.text.get(span.clone()).unwrap_or_default();
        let inside = raw.find(text).map(|at| span.start + at);
        Some((text.to_owned(), inside))
    }
    /// The text of a field, where it is one line, not blank, of at most `most` characters. `None` where the table lacks the field or, with
    /// a misprint, where it holds anything else.
    pub(super) fn line(&mut self, field: &str, most: usize) -> Option<String> {
        let (text, _) = self.text(field)?;
        let plain = !text.trim().is_empty() && !text.chars().any(char::is_control) && text.chars().count() <= most;
        if !plain {
            self.blot(
                field,
                format!("{field} is empty or too long"),
                format!("write one line of at most {most} letters"),
            );
        }
        plain.then_some(text)
    }
    /// The value of a field, where it is a whole number from `low` to `high`. `None` where the table lacks the field or, with a misprint,
    /// where it holds anything else.
    pub(super) fn number(&mut self, field: &str, low: u32, high: u32) -> Option<u32> {
        let value = self.table.get(field)?;
        let number = value.get_ref().as_integer();
        let number = number.and_then(|number| u32::from_str_radix(number.as_str(), number.radix()).ok());
        let number = number.filter(|number| (low..=high).contains(number));
        if number.is_none() {
            self.blot(field, format!("{field} is out of reach"), format!("write a whole number from {low} to {high}"));
        }
        number
    }
    /// The value of a field that is `true` or `false`; false where the table lacks it and, with a misprint, where it holds anything else.
    pub(super) fn flag(&mut self, field: &str) -> bool {
        let said = self.table.get(field).map(|value| match value.get_ref() {
            DeValue::Boolean(said) => Some(*said),
            _ => None,
        });
        if said == Some(None) {
            self.blot(field, format!("{field} is neither true nor false"), "write true or false");
        }
        said.flatten().unwrap_or(false)
    }
}
