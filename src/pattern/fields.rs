use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::music::nearest;
use crate::pattern::trouble::SpanTrouble;

/// One table of a TOML file, read field by field; what is wrong is gathered, never thrown.
pub(super) struct Fields<'t> {
    text: &'t str,
    table: &'t DeTable<'t>,
    span: Range<usize>,
    /// What is wrong so far, in the order in which the fields were read.
    pub troubles: Vec<SpanTrouble>,
}

/// A text of the file: what it says and where its first letter stands.
pub(super) struct FieldText {
    /// The text, without quotes and escapes.
    pub text: String,
    /// The whole value, quotes included.
    pub span: Range<usize>,
    /// Where the first letter stands, when the text is written without escapes.
    inside: Option<usize>,
}

impl FieldText {
    /// The place in the file of `span` inside the text.
    pub(super) fn place(&self, span: &Range<usize>) -> Range<usize> {
        self.inside.map_or_else(|| self.span.clone(), |start| start + span.start..start + span.end)
    }
}

impl<'t> Fields<'t> {
    /// Fields of `table`; keys not in `known` are faults.
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

    /// The place of the table's head, for what is missing from it.
    pub(super) fn head(&self) -> Range<usize> {
        self.span.clone()
    }

    /// The place of a field's value, or of the table's head.
    pub(super) fn place(&self, field: &str) -> Range<usize> {
        self.table.get(field).map_or_else(|| self.head(), Spanned::span)
    }

    /// The value of a field as it stands in the file, where the field is there.
    pub(super) fn value(&self, field: &str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.table.get(field)
    }

    /// Adds a trouble: at `span`, in bytes of the file, `expected` should stand.
    pub(super) fn trouble(&mut self, span: Range<usize>, expected: impl Into<String>) {
        self.troubles.push(SpanTrouble::new(span, expected));
    }

    /// A text, if the field is there.
    pub(super) fn text(&mut self, field: &str) -> Option<FieldText> {
        let value = self.value(field)?;
        let said = self.said(value);
        if said.is_none() {
            self.trouble(value.span(), format!("a text in quotes for {field}"));
        }
        said
    }

    /// A text of one line of `most` letters or fewer that has to be there.
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

    /// One of a few names, if the field is there; a dash may stand for a blank.
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

    /// A whole number from `low` to `high`, if the field is there.
    pub(super) fn number(&mut self, field: &str, low: u32, high: u32) -> Option<u32> {
        let value = self.value(field)?;
        let number = whole(value.get_ref()).filter(|n| (low..=high).contains(n));
        if number.is_none() {
            self.trouble(value.span(), format!("a whole number from {low} to {high} for {field}"));
        }
        number
    }

    /// `true` or `false`; false when the field is not there.
    pub(super) fn flag(&mut self, field: &str) -> bool {
        let Some(value) = self.value(field) else { return false };
        if value.get_ref().as_bool().is_none() {
            self.trouble(value.span(), format!("true or false for {field}"));
        }
        value.get_ref().as_bool().unwrap_or(false)
    }

    /// The text of a value and where it stands.
    pub(super) fn said(&self, value: &Spanned<DeValue<'_>>) -> Option<FieldText> {
        let text = value.get_ref().as_str()?.to_owned();
        let span = value.span();
        let raw = self.text.get(span.clone()).unwrap_or_default();
        let inside = raw.find(&text).map(|at| span.start + at);
        Some(FieldText { text, span, inside })
    }
}

/// A whole number without sign, if it is one and fits.
pub(super) fn whole(value: &DeValue<'_>) -> Option<u32> {
    let integer = value.as_integer()?;
    u32::from_str_radix(integer.as_str(), integer.radix()).ok()
}
