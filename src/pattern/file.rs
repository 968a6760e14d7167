use std::collections::BTreeSet;

use toml::de::{DeTable, DeValue};

use crate::music::Degree;
use crate::pattern::compile::{MOST_NOTES, Uncompiled, compile};
use crate::pattern::cycle::Cycle;
use crate::pattern::fields::{FieldText, Fields, whole};

use crate::pattern::meter::Meter;
use crate::pattern::model::{Family, Notation, Pattern, PatternId, TempoRange};
use crate::pattern::parse::{NO_NOTE, parse_notes};
use crate::pattern::quality::Quality;
use crate::pattern::sequence::Sequence;
use crate::pattern::time::Unit;
use crate::pattern::timeline::Timeline;
use crate::pattern::token::{Reads, Slot, Token};
use crate::pattern::trouble::{PatternTrouble, SpanTrouble};
use crate::pattern::write::PatternHeader;
use crate::units::Tempo;

/// The fields of a pattern, in the order in which they are printed.
pub(super) const FIELDS: [&str; 19] = [
    "id", "name", "family", "level", "trains", "tempo", "over", "meter", "unit", "reads", "notes", "scale", "swing",
    "pickup", "repeats", "sequence", "times", "cycle", "source",
];
/// The ways of reading the numbers of a pattern, with their names in pattern files.
pub(super) const READS: [(&str, Reads); 3] =
    [("degrees", Reads::Degrees), ("half steps", Reads::HalfSteps), ("chord tones", Reads::ChordTones)];
/// The most bytes of a pattern file; a longer file is refused.
const MOST_BYTES: usize = 4 << 20;
/// The most letters of an id and of a name.
const MOST_ID: usize = 64;
const MOST_NAME: usize = 80;

/// Reads a pattern file. Hands back every pattern without a trouble, and all troubles of the file in the order of their places.
/// `file` is the name that is shown in troubles. Never panics, whatever the text.
#[must_use]
pub fn read(text: &str, file: &str) -> (Vec<Pattern>, Vec<PatternTrouble>) {
    let mut patterns = Vec::new();
    let mut troubles = Vec::new();
    if text.len() > MOST_BYTES {
        troubles.push(SpanTrouble::new(0..0, format!("a file of at most {} MiB", MOST_BYTES >> 20)));
    } else {
        let (document, errors) = DeTable::parse_recoverable(text);
        for error in errors {
            troubles.push(SpanTrouble::new(error.span().unwrap_or(0..0), format!("TOML ({})", error.message().trim())));
        }
        let broken = !troubles.is_empty();
        whole_file(text, document.get_ref(), &mut patterns, &mut troubles, broken);
    }
    troubles.sort_by_cached_key(|trouble| (trouble.span.start, trouble.span.end));
    (patterns, troubles.into_iter().map(|trouble| PatternTrouble::at(file, text, trouble)).collect())
}

/// All troubles of a pattern file; empty when it is right.
#[must_use]
pub fn check(text: &str, file: &str) -> Vec<PatternTrouble> {
    read(text, file).1
}

fn whole_file<'t>(
    text: &'t str,
    document: &'t DeTable<'t>,
    patterns: &mut Vec<Pattern>,
    troubles: &mut Vec<SpanTrouble>,
    broken: bool,
) {
    let mut top = Fields::new(text, document, 0..0, &["pattern"]);
    let list = top.value("pattern").map(|value| (value.get_ref().as_array(), value.span()));
    match list {
        None if broken => {}
        None => top.trouble(0..0, "at least one [[pattern]]"),
        Some((None, span)) => top.trouble(span, "[[pattern]] in double brackets"),
        Some((Some(tables), _)) => {
            let mut known: BTreeSet<PatternId> = BTreeSet::new();
            for table in tables {
                match table.get_ref() {
                    DeValue::Table(fields) => {
                        let mut fields = Fields::new(text, fields, table.span(), &FIELDS);
                        for pattern in one(&mut fields) {
                            if known.insert(pattern.id.clone()) {
                                patterns.push(pattern);
                            } else {
                                let expected =
                                    format!("an id that no other pattern here has ({} is taken)", pattern.id);
                                fields.trouble(fields.place("id"), expected);
                            }
                        }
                        troubles.append(&mut fields.troubles);
                    }
                    _ => top.trouble(table.span(), "[[pattern]] in double brackets"),
                }
            }
        }
    }
    troubles.append(&mut top.troubles);
}

/// The patterns of one table: one pattern, or, where its notes are chord tones, one for each quality that it fits. Empty where a field has
/// a trouble. A quality for which no line can be made ([`Uncompiled`]) is a trouble too, but leaves out only the pattern for that quality.
fn one(fields: &mut Fields<'_>) -> Vec<Pattern> {
    let id = fields.line("id", MOST_ID).filter(|id| {
        let plain = id.bytes().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == b'-');
        if !plain {
            fields.trouble(fields.place("id"), "an id of small letters, digits and - such as broken-thirds-up");
        }
        plain
    });
    let name = fields.line("name", MOST_NAME);
    let family = fields.choice("family", &Family::NAMES);
    let level = fields.number("level", 1, 5);
    for missing in ["family", "level", "tempo", "notes"]
        .into_iter()
        .filter(|name| fields.value(name).is_none())
        .collect::<Vec<_>>()
    {
        fields.trouble(fields.head(), format!("the field {missing} in this pattern"));
    }
    let trains = optional(fields, "trains", "");
    let source = optional(fields, "source", "common practice");
    let tempo = tempo(fields);
    let over = over(fields);
    let swing = fields.flag("swing");
    let cycle = fields.choice("cycle", &Cycle::NAMES).unwrap_or_default();
    let notation = notation(fields);
    if !fields.troubles.is_empty() {
        return Vec::new();
    }
    let (Some(id), Some(name), Some(family), Some(level), Some(tempo), Some(notation)) =
        (id, name, family, level, tempo, notation)
    else {
        return Vec::new();
    };
    let level = u8::try_from(level).unwrap_or(5);
    let about = PatternHeader { id: PatternId(id), name, family, level, tempo, over, source };
    let made = each_quality(fields, &about, &notation);
    made.into_iter()
        .map(|(about, timeline)| {
            let PatternHeader { id, name, family, level, tempo, over, source } = about;
            let (trains, notation) = (trains.clone(), notation.clone());
            Pattern { id, name, family, level, trains, tempo, over, swing, cycle, source, notation, timeline }
        })
        .collect()
}

/// The notes in time: once, or, where they are chord tones, once for each quality. Where chord tones have several qualities, each quality
/// is added to its own id and name.
fn each_quality(fields: &mut Fields<'_>, about: &PatternHeader, notation: &Notation) -> Vec<(PatternHeader, Timeline)> {
    let each: Vec<Vec<Quality>> = match notation.reads {
        Reads::ChordTones => about.over.iter().map(|quality| vec![*quality]).collect(),
        _ => vec![about.over.clone()],
    };
    if each.is_empty() {
        fields.trouble(fields.head(), "the field over with the qualities whose tones are meant");
    }
    let several = each.len() > 1;
    let made = each.into_iter().filter_map(|over| {
        let timeline = match compile(notation, &over) {
            Ok(timeline) => timeline,
            Err(why) => {
                uncompiled(fields, &why);
                return None;
            }
        };
        let mut about = PatternHeader { over, ..about.clone() };
        if let Some(quality) = about.over.first().filter(|_| several) {
            about.id = PatternId(format!("{}-{}", about.id, quality.slug()));
            about.name = format!("{}, {}", about.name, quality.name());
        }
        // What is printed has to be read again.
        let long = [("id", &about.id.0, MOST_ID), ("name", &about.name, MOST_NAME)];
        if let Some((field, long, most)) = long.into_iter().find(|row| row.1.chars().count() > row.2) {
            let expected = format!("at most {most} letters for {field}, with the chord that is added ({long})");
            fields.trouble(fields.place(field), expected);
            return None;
        }
        Some((about, timeline))
    });
    made.collect()
}

fn uncompiled(fields: &mut Fields<'_>, why: &Uncompiled) {
    match why {
        Uncompiled::MissingTone(quality, number) => {
            let tone = ["root", "ninth", "third", "eleventh", "fifth", "thirteenth", "seventh"];
            let tone = tone[number.letters.rem_euclid(7) as usize];
            let expected = format!("chord tones that {} has (it has no {tone})", quality.name());
            fields.trouble(fields.place("over"), expected);
        }
        Uncompiled::OutsideScale(degree) => {
            let expected =
                format!("notes of one scale to move along: {degree} is not in it (a field scale may state it)");
            fields.trouble(fields.place("sequence"), expected);
        }
        Uncompiled::TooLong => {
            fields.trouble(fields.place("notes"), format!("at most {MOST_NOTES} notes with sequence and repeats"));
        }
    }
}

fn optional(fields: &mut Fields<'_>, field: &str, default: &str) -> String {
    let given = fields.value(field).is_some();
    let line = if given { fields.line(field, 160) } else { None };
    line.unwrap_or_else(|| default.to_owned())
}

fn tempo(fields: &mut Fields<'_>) -> Option<TempoRange> {
    let value = fields.value("tempo")?;
    let ends = value.get_ref().as_array().map(|ends| ends.iter().map(|end| whole(end.get_ref())).collect::<Vec<_>>());
    match ends.as_deref() {
        Some(&[Some(low), Some(high)]) if (20..=high).contains(&low) && high <= 400 => {
            Some(TempoRange { low: Tempo(f64::from(low)), high: Tempo(f64::from(high)) })
        }
        _ => {
            fields.trouble(value.span(), "two tempos from 20 to 400, the slower first, such as [60, 160]");
            None
        }
    }
}

/// The chord qualities of the field `over`; none for `"any"` or where the table lacks the field.
fn over(fields: &mut Fields<'_>) -> Vec<Quality> {
    let Some(value) = fields.value("over") else { return Vec::new() };
    if value.get_ref().as_str() == Some("any") {
        return Vec::new();
    }
    let Some(list) = value.get_ref().as_array().filter(|list| !list.is_empty()) else {
        fields.trouble(value.span(), "\"any\" or a list of chord qualities such as [\"maj7\", \"6\"]");
        return Vec::new();
    };
    let mut over: Vec<Quality> = Vec::new();
    for item in list {
        match item.get_ref().as_str().map(|name| (name, Quality::parse(name))) {
            Some((_, Some(quality))) if !over.contains(&quality) => over.push(quality),
            Some((name, None)) => {
                let meant = Quality::meant(name).map(Quality::name);
                fields
                    .troubles
                    .push(SpanTrouble::new(item.span(), "a chord quality such as maj7, m7b5 or 7alt").nearest(meant));
            }
            _ => fields.trouble(item.span(), "each chord quality once, in quotes"),
        }
    }
    over
}

fn notation(fields: &mut Fields<'_>) -> Option<Notation> {
    let reads = fields.choice("reads", &READS).unwrap_or_default();
    let meter = fields.choice("meter", &Meter::NAMES).unwrap_or_default();
    let unit = fields.choice("unit", &Unit::NAMES).unwrap_or_default();
    let pickup = fields.number("pickup", 0, 64).unwrap_or(0);
    let repeats = fields.number("repeats", 1, 16).unwrap_or(1);
    let sequence = fields.choice("sequence", &Sequence::NAMES);
    let times = fields.number("times", 2, 24);
    let sequence = match (sequence, times) {
        (Some(sequence), Some(times)) => Some((sequence, times)),
        (Some(_), None) if fields.value("times").is_none() => {
            fields.trouble(fields.place("sequence"), "a field times beside it: how many cells, such as times = 4");
            None
        }
        (None, Some(_)) if fields.value("sequence").is_none() => {
            fields.trouble(fields.place("times"), "a field sequence beside it, such as \"up the scale\"");
            None
        }
        _ => None,
    };
    let scale = fields.text("scale").and_then(|said| scale(fields, &said));
    let said = fields.text("notes")?;
    let (tokens, troubles) = parse_notes(&said.text, reads);
    forward(fields, &said, troubles);
    Some(Notation { reads, meter, unit, tokens, scale, sequence, repeats, pickup })
}

/// Reads a scale, which is written as its degrees within one octave, upward from 1.
fn scale(fields: &mut Fields<'_>, said: &FieldText) -> Option<Vec<Degree>> {
    let (tokens, troubles) = parse_notes(&said.text, Reads::Degrees);
    let wrong = !troubles.is_empty();
    forward(fields, said, troubles);
    let degrees: Vec<Degree> = tokens
        .iter()
        .filter_map(|token| if let Token::Slot(Slot::Degree(degree)) = token { Some(*degree) } else { None })
        .collect();
    let rising = degrees.windows(2).all(|pair| pair[0].half_steps < pair[1].half_steps);
    let within = degrees.first() == Some(&Degree::TONIC) && degrees.last().is_some_and(|top| top.half_steps < 12);
    if wrong {
        None
    } else if rising && within && degrees.len() == tokens.len() && degrees.len() > 1 {
        Some(degrees)
    } else {
        fields.trouble(said.span.clone(), "the degrees of one octave, upward from 1, such as \"1 2 b3 4 5 6 b7\"");
        None
    }
}

/// Adds the troubles inside a text to those of the file, with their places in the file.
fn forward(fields: &mut Fields<'_>, said: &FieldText, troubles: Vec<SpanTrouble>) {
    for mut trouble in troubles {
        trouble.span = if trouble.expected == NO_NOTE { said.span.clone() } else { said.place(&trouble.span) };
        fields.troubles.push(trouble);
    }
}
