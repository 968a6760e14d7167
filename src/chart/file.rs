use std::collections::BTreeSet;

use toml::de::{DeTable, DeValue};

use crate::chart::field::FormTable;
use crate::chart::misprint::{Misprint, MisprintSpan};
use crate::chart::model::ChordChart;
use crate::chart::named_chart::NamedChart;
use crate::chart::read::read;
use crate::pattern::Cycle;
use crate::units::Tempo;

/// Fields of one form, in the order in which they are printed.
const FIELDS: [&str; 7] = ["id", "name", "tempo", "even", "cycle", "bars", "source"];
/// The most bytes of a file of forms; a longer file is refused.
const MOST_BYTES: usize = 1 << 20;
/// The tempo of a form that names none, in quarters a minute.
const USUAL_TEMPO: u32 = 120;

/// Reads a file of forms. Hands back every form without a misprint, and all misprints of the file in the order of their places.
#[must_use]
pub fn read_forms(text: &str) -> (Vec<NamedChart>, Vec<Misprint>) {
    let mut blots = Vec::new();
    let mut forms: Vec<NamedChart> = Vec::new();
    if text.len() > MOST_BYTES {
        blots.push(MisprintSpan::new(0..0, "the file is longer than 1 MiB", "leave only the forms in it"));
    } else {
        let (document, errors) = DeTable::parse_recoverable(text);
        for error in errors {
            let what = format!("this is no TOML: {}", error.message().trim());
            blots.push(MisprintSpan::new(error.span().unwrap_or(0..0), what, "write [[chart]] and its fields below"));
        }
        let broken = !blots.is_empty();
        let mut top = FormTable::new(text, document.get_ref(), 0..0, &["chart"]);
        blots.append(&mut top.blots);
        let list = top.table.get("chart");
        let tables = list.and_then(|list| list.get_ref().as_array());
        match list {
            None if broken => {}
            None => {
                blots.push(MisprintSpan::new(0..0, "there is no form in it", "write [[chart]] and its fields below"))
            }
            Some(list) if tables.is_none() => {
                blots.push(MisprintSpan::new(
                    list.span(),
                    "this is no list of forms",
                    "write [[chart]] in double brackets",
                ));
            }
            Some(_) => {}
        }
        let mut known = BTreeSet::new();
        for table in tables.into_iter().flatten() {
            let DeValue::Table(fields) = table.get_ref() else {
                blots.push(MisprintSpan::new(table.span(), "this is no form", "write [[chart]] in double brackets"));
                continue;
            };
            let mut fields = FormTable::new(text, fields, table.span(), &FIELDS);
            if let Some(form) = one(&mut fields) {
                if known.insert(form.id.clone()) {
                    forms.push(form);
                } else {
                    fields.blot("id", format!("another form here is called {}", form.id), "give it another id");
                }
            }
            blots.append(&mut fields.blots);
        }
    }
    blots.sort_by_cached_key(|blot| blot.span.start);
    (forms, blots.into_iter().map(|blot| blot.placed(text)).collect())
}

/// All misprints of a file of forms; none where the file is right.
#[must_use]
pub fn check_forms(text: &str) -> Vec<Misprint> {
    read_forms(text).1
}

fn one(fields: &mut FormTable<'_>) -> Option<NamedChart> {
    for missing in ["id", "name", "bars"].into_iter().filter(|field| fields.table.get(*field).is_none()) {
        fields.blot("", format!("the field {missing} is missing"), format!("write {missing} = \"...\""));
    }
    let id = fields.line("id", 64);
    let right = |id: &String| id.bytes().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == b'-');
    if id.as_ref().is_some_and(|id| !right(id)) {
        fields.blot("id", "an id has small letters, digits and - only", "write it like minor-blues");
    }
    let name = fields.line("name", 80);
    let tempo = fields.number("tempo", 40, 300).unwrap_or(USUAL_TEMPO);
    let even = fields.flag("even");
    let cycle = cycle(fields);
    let source = fields.line("source", 160).unwrap_or_else(|| "common practice".to_owned());
    let chart = bars(fields);
    if cycle.is_some() && chart.as_ref().is_some_and(|chart| chart.strains.len() > 1 || !chart.pickup.is_empty()) {
        fields.blot("cycle", "a form of several strains goes round no cycle", "leave one strain, or leave cycle out");
    }
    if !fields.blots.is_empty() {
        return None;
    }
    Some(NamedChart {
        id: id?,
        name: name?,
        tempo: Tempo(f64::from(tempo)),
        swing: !even,
        cycle,
        chart: chart?,
        source,
    })
}

fn cycle(fields: &mut FormTable<'_>) -> Option<Cycle> {
    let (said, _) = fields.text("cycle")?;
    let found = Cycle::NAMES.iter().find(|row| row.0 == said && row.1 != Cycle::Shuffled);
    if found.is_none() {
        let names: Vec<&str> = Cycle::NAMES.iter().filter(|row| row.1 != Cycle::Shuffled).map(|row| row.0).collect();
        fields.blot(
            "cycle",
            format!("no cycle of keys is called \"{said}\""),
            format!("write one of {}", names.join(", ")),
        );
    }
    found.map(|row| row.1)
}

fn bars(fields: &mut FormTable<'_>) -> Option<ChordChart> {
    let (text, inside) = fields.text("bars")?;
    match read(&text) {
        Ok(chart) => Some(chart),
        Err(blots) => {
            let whole = fields.place("bars");
            let place = |span: std::ops::Range<usize>| {
                inside.map_or_else(|| whole.clone(), |from| from + span.start..from + span.end)
            };
            let placed = blots.into_iter().map(|blot| MisprintSpan { span: place(blot.span.clone()), ..blot });
            fields.blots.extend(placed.collect::<Vec<_>>());
            None
        }
    }
}

/// A form as the `[[chart]]` table of a file, in the canonical order of fields; what is printed reads back as the same form.
#[must_use]
pub fn print_form(form: &NamedChart) -> String {
    let mut out = String::from("[[chart]]\n");
    out.push_str(&format!("id = {}\nname = {}\n", quoted(&form.id), quoted(&form.name)));
    out.push_str(&format!("tempo = {:.0}\n", form.tempo.0));
    if !form.swing {
        out.push_str("even = true\n");
    }
    if let Some(cycle) = form.cycle {
        out.push_str(&format!("cycle = {}\n", quoted(cycle.name())));
    }
    // A chart's text has neither quotes nor backslashes.
    out.push_str(&format!("bars = \"\"\"\n{}\"\"\"\nsource = {}\n", form.chart, quoted(&form.source)));
    out
}

/// A TOML basic string (TOML 1.0, "String").
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}
