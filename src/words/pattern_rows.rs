//! One pattern in rows of words: degrees and chord tones, scales, tempo, and on request its notes in a key.

use crate::music::{ConcertKey, Instrument, Level, Range, Sounding, Tonality, fits, scales_over};
use crate::pattern::{self, ChordSpan, Cycle, Family, InRegisters, Library, Pattern, PatternNote, Register};
use crate::words::Page;
use crate::words::numbers::counted;
use crate::words::patterns::{level_name, level_words, parts, rhythm_words};

fn row(head: &str, text: &str) -> String {
    format!("  {head:12} {text}")
}

/// The facts of a pattern, one row for each: name, family, level, rhythm, tempo and the rest.
#[must_use]
pub fn rows(pattern: &Pattern) -> Vec<String> {
    let mut rows = vec![format!("{} ({})", pattern.name, pattern.id.0)];
    rows.push(row("family", pattern.family.name()));
    let taken_apart = pattern::fragments(pattern);
    if pattern.family == Family::Phrase {
        rows.push(row("parts", &parts(&taken_apart)));
    }
    let level = pattern.level;
    rows.push(row("level", &format!("{level}, {}: {}", level_name(level), level_words(pattern))));
    if !pattern.trains.is_empty() {
        rows.push(row("trains", &pattern.trains));
    }
    rows.push(row("rhythm", &rhythm_words(pattern)));
    let swing = if pattern.swing { ", eighths swing" } else { "" };
    let (low, high) = (pattern.tempo.low.0, pattern.tempo.high.0);
    rows.push(row("tempo", &format!("quarter = {low:.0} to {high:.0}{swing}")));
    rows.push(row("written", &pattern::print_notes(&pattern.notation.tokens)));
    let notation = &pattern.notation;
    rows.extend(
        notation.sequence.map(|(moved, cells)| row("moves on", &format!("{}, {cells} times in all", moved.name()))),
    );
    rows.extend((notation.repeats > 1).then(|| row("repeats", &format!("{} times in all", notation.repeats))));
    let pickup = pattern.pickup().0;
    rows.extend((pickup > 0.0).then(|| row("pick-up", &format!("{pickup} beats before the first bar line"))));
    rows.push(row(
        "degrees",
        &pattern.notes().iter().map(|step| step.degree.to_string()).collect::<Vec<_>>().join(" "),
    ));
    let over: Vec<&str> = pattern.over.iter().map(|quality| quality.name()).collect();
    if !over.is_empty() {
        rows.push(row("fits", &over.join(", ")));
    }
    let chords = over_chords(pattern);
    let bracketed = chords.iter().any(|(_, tones)| tones.contains('('));
    rows.extend(chords.iter().map(|(chord, tones)| row(&format!("over {chord}"), tones)));
    if bracketed {
        rows.push(row("", "in brackets: no tone of the chord"));
    }
    rows.extend(scales(pattern));
    let by = if pattern.cycle == Cycle::Shuffled { "" } else { "by " };
    rows.push(row("keys", &format!("{by}{}", pattern.cycle.name())));
    rows.push(row("source", &pattern.source));
    rows
}

/// The row that names other patterns which, from some root, have the same notes in the same rhythm; `None` where there are none.
#[must_use]
pub fn sounds_as(library: &Library, pattern: &Pattern) -> Option<String> {
    let others: Vec<&str> = library.sounding_as(pattern).into_iter().map(|other| other.name.as_str()).collect();
    (!others.is_empty()).then(|| row("same notes", &format!("from another root: {}", others.join("; "))))
}

/// The row of the degrees on which a pattern may begin, with the id of the first of `others`: the same pattern begun on other degrees.
#[must_use]
pub fn begins_on(pattern: &Pattern, others: &[Pattern]) -> Option<String> {
    let notes = [pattern].into_iter().chain(others).filter_map(|begun| Some(begun.notes().first()?.degree));
    let notes: Vec<String> = notes.map(|degree| degree.to_string()).collect();
    let (degree, other) = (notes.get(1)?, others.first()?);
    Some(row("begins on", &format!("{}   (on {degree} it is called {})", notes.join(" "), other.id)))
}

/// The scales that fit each chord, the first choice first.
fn scales(pattern: &Pattern) -> Vec<String> {
    let mut listed: Vec<&str> = Vec::new();
    let mut rows = Vec::new();
    for section in pattern.chords() {
        let name = section.root.quality.name();
        let Some(chord) = section.root.quality.chord().filter(|_| !listed.contains(&name)) else { continue };
        listed.push(name);
        let mut names: Vec<&str> = fits(chord).iter().flat_map(|fit| &fit.scales).map(|s| s.name.as_str()).collect();
        if names.is_empty() {
            names = scales_over(chord).iter().map(|scale| scale.name.as_str()).collect();
        }
        let mut once: Vec<&str> = Vec::new();
        names.into_iter().for_each(|name| {
            if !once.contains(&name) {
                once.push(name)
            }
        });
        let head = if rows.is_empty() { "scales" } else { "" };
        rows.push(row(head, &format!("over {name}: {}", once.join("; "))));
    }
    rows
}

/// The row that says below which tempo the line is longer than one breath or bow; `None` where no usual tempo is below it, and for
/// an instrument that needs neither.
#[must_use]
pub fn breath(pattern: &Pattern, instrument: &Instrument) -> Option<String> {
    let enough = 60.0 * pattern.length().0 / instrument.phrase?.0;
    let with = if instrument.sounding == Sounding::Bow { "bow" } else { "breath" };
    let advice = format!("longer than one {with} of the {} below quarter = {enough:.0}", instrument.name);
    (enough > pattern.tempo.low.0).then(|| row(with, &advice))
}

/// A key signature in words.
fn signature(page: Tonality) -> String {
    match page.signature().sharps() {
        0 => "no sharps or flats".to_owned(),
        sharps @ 1.. => counted(usize::from(sharps.unsigned_abs()), "sharp"),
        flats => counted(usize::from(flats.unsigned_abs()), "flat"),
    }
}

/// The notes of a pattern in a key, below its signature and the player's range: one row for each octave in which it lies. `compass`
/// is the level whose compass `range` is; `None` where the player set the range.
#[must_use]
pub fn in_key(
    pattern: &Pattern,
    lines: &[InRegisters],
    key: ConcertKey,
    page: &Page,
    range: Range,
    compass: Option<Level>,
) -> Vec<String> {
    let spelling = pattern.spelling();
    let tonality = page.tonality(key, pattern.mode());
    let mut rows = vec![
        row("signature", &format!("{}: {}", pattern.heading(tonality), signature(tonality))),
        row("range", &compass_words(page, range, compass)),
    ];
    for (registers, line) in lines {
        let names: Vec<String> =
            line.notes.iter().map(|note| page.with_octave(page.expected(note, key, spelling))).collect();
        let every = *registers == Register::ALL;
        let named: Vec<&str> = registers.iter().map(|register| register.name()).collect();
        rows.push(row(&if every { "any register".to_owned() } else { named.join(", ") }, &names.join(" ")));
        if registers.len() > 1 {
            let octave = if every { "it fits the range in one octave only" } else { "these fall on one octave" };
            rows.push(row("", octave));
        }
    }
    rows
}

/// Lowest and highest note on the page, and whose compass that is.
fn compass_words(page: &Page, range: Range, compass: Option<Level>) -> String {
    let [low, high] = [range.low, range.high].map(|pitch| page.heard(pitch.midi()));
    let whose = match compass {
        None => "your own",
        Some(Level::Student) => "a student's compass",
        Some(Level::Working) => "a working player's compass",
        Some(Level::Professional) => "a professional's compass",
    };
    format!("{low} to {high}, {whose} on the {}", page.instrument.name)
}

/// Each chord under the pattern, with the notes over it counted from its root; a note that is no tone of the chord stands in brackets.
#[must_use]
pub fn over_chords(pattern: &Pattern) -> Vec<(String, String)> {
    let sections = pattern.chords();
    let ends = sections.iter().skip(1).map(|section| section.at.0).chain([i64::MAX]);
    let rows = sections.iter().zip(ends).map(|(section, end)| {
        let steps = pattern.notes().iter().filter(|step| (section.at.0..end).contains(&step.at.0));
        let tones: Vec<String> = steps.map(|step| tone(section, step)).collect();
        (section.root.to_string().trim_end_matches(':').to_owned(), tones.join(" "))
    });
    rows.collect()
}

fn tone(section: &ChordSpan, step: &PatternNote) -> String {
    let counted = step.degree - section.root.degree;
    let mut tones = section.root.quality.tones().iter();
    let belongs = tones.any(|tone| (tone.half_steps - counted.half_steps) % 12 == 0);
    if belongs { counted.to_string() } else { format!("({counted})") }
}

/// Columns of a screen.
const SCREEN: usize = 80;

/// A row of the list in columns; a row wider than a screen is written without the blanks between columns.
#[must_use]
pub fn list_row(id: &str, pattern: &Pattern, words: &str) -> String {
    let (family, level, notes) = (pattern.family.name(), pattern.level, pattern.notes().len());
    let line = format!("{level} {id:40} {family:10} {notes:3} notes  {words}");
    let line =
        if line.trim_end().len() > SCREEN { format!("{level} {id} {family} {notes} notes  {words}") } else { line };
    line.trim_end().to_owned()
}
