use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::music::nearest;
use crate::pattern::trouble::SpanTrouble;

/// One table of a TOML file, read field by field, with all troubles that were found in it.
pub(super) struct Fields<'t> {
    text: &'t str,
    table: &'t DeTable<'t>,
    span: Range<usize>,
    /// The troubles so far, in the order in which the fields were read.
    pub troubles: Vec<SpanTrouble>,
}

/// A text of the file and its place.
pub(super) struct FieldText {
    /// The text, without quotes and escapes.
    pub text: String,
    /// The place of the whole value, quotes included, in bytes of the file.
    pub span: Range<usize>,
    /// The byte of the file at which the text begins; `None` where it is written with escapes.
    inside: Option<usize>,
}

impl FieldText {
    /// The place in the file of `span`, which is counted in bytes of the text.
    pub(super) fn place(&self, span: &Range<usize>) -> Range<usize> {
        self.inside.map_or_else(|| self.span.clone(), |start| start + span.start..start + span.end)
    }
}

impl<'t> Fields<'t> {
    /// Begins to read a table; each key that is not in `known` is a trouble.
    pub(super) fn new(text: &'t str, table: &'t DeTable<'t>, span: Range<usize>, known: &[&str]) -> Self {
        let mut troubles = Vec::new();
        for (key, _) in table {
            let name = key.get_ref().as_ref();
            if !known.contains(&name) {
                let expected = format!("one of the fields {}", known.join(", "));
                troubles.push(SpanTrouble::new(key.span(), expected).nearest(nearest(name, known.iter().copied())));
            }
        }
        Self { text, table, span, troubles }
    }

    /// The place of the table's head, at which missing fields are reported.
    pub(super) fn head(&self) -> Range<usize> {
        self.span.clone()
    }

    /// The place of a field's value, or of the table's head.
    pub(super) fn place(&self, field: &str) -> Range<usize> {
        self.table.get(field).map_or_else(|| self.head(), Spanned::span)
    }

    /// The value of a field as it stands in the file; `None` where the table lacks it.
    pub(super) fn value(&self, field: &str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.table.get(field)
    }

    /// Adds a trouble: at `span`, in bytes of the file, `expected` should stand.
    pub(super) fn trouble(&mut self, span: Range<usize>, expected: impl Into<String>) {
        self.troubles.push(SpanTrouble::new(span, expected));
    }

    /// The value of a field that is a text; `None` where the table lacks it or, with a trouble, where it is no text.
    pub(super) fn text(&mut self, field: &str) -> Option<FieldText> {
        let value = self.value(field)?;
        let said = self.said(value);
        if said.is_none() {
            self.trouble(value.span(), format!("a text in quotes for {field}"));
        }
        said
    }

    /// The value of a field that the table has to have: a text of one line, not blank, with at most `most` characters. `None`, with a
    /// trouble, where the table lacks it or it is no such text.
    pub(super) fn line(&mut self, field: &str, most: usize) -> Option<String> {
        if self.value(field).is_none() {
            self.trouble(self.head(), format!("the field {field} in this pattern"));
        }
        let said = self.text(field)?;
        let plain = !said.text.trim().is_empty() && !said.text.chars().any(char::is_control);
        if !plain || said.text.chars().count() > most {
            self.trouble(said.span, format!("one line of at most {most} letters for {field}"));
            return None;
        }
        Some(said.text)
    }

    /// The value that one of `names` stands for; a dash may stand for a blank. `None` where the table lacks the field or, with a
    /// trouble, where it holds none of the names.
    pub(super) fn choice<T: Copy>(&mut self, field: &str, names: &[(&'static str, T)]) -> Option<T> {
        let said = self.text(field)?;
        let meant = said.text.replace('-', " ");
        let found = names.iter().find(|(name, _)| *name == meant).map(|row| row.1);
        if found.is_none() {
            let all: Vec<&str> = names.iter().map(|row| row.0).collect();
            let close = nearest(&meant, all.iter().copied());
            self.troubles.push(SpanTrouble::new(said.span, format!("one of: {}", all.join(", "))).nearest(close));
        }
        found
    }

    /// The value of a field that is a whole number from `low` to `high`; `None` where the table lacks the field or, with a trouble, where
    /// it holds anything else.
    pub(super) fn number(&mut self, field: &str, low: u32, high: u32) -> Option<u32> {
        let value = self.value(field)?;
        let number = whole(value.get_ref()).filter(|n| (low..=high).contains(n));
        if number.is_none() {
            self.trouble(value.span(), format!("a whole number from {low} to {high} for {field}"));
        }
        number
    }

    /// The value of a field that is `true` or `false`; false where the table lacks it and, with a trouble, where it holds anything else.
    pub(super) fn flag(&mut self, field: &str) -> bool {
        let Some(value) = self.value(field) else { return false };
        if value.get_ref().as_bool().is_none() {
            self.trouble(value.span(), format!("true or false for {field}"));
        }
        value.get_ref().as_bool().unwrap_or(false)
    }

    /// The text of a value, with its place; `None` where the value is no text.
    pub(super) fn said(&self, value: &Spanned<DeValue<'_>>) -> Option<FieldText> {
        let text = value.get_ref().as_str()?.to_owned();
        let span = value.span();
        let raw = self.text.get(span.clone()).unwrap_or_default();
        let inside = raw.find(&text).map(|at| span.start + at);
        Some(FieldText { text, span, inside })
    }
}

/// The value as a whole number without sign; `None` for any other value, and for a number that needs more than 32 bits.
pub(super) fn whole(value: &DeValue<'_>) -> Option<u32> {
    let integer = value.as_integer()?;
    u32::from_str_radix(integer.as_str(), integer.radix()).ok()
}
