//! `patterns show`: one pattern in words, degrees and chord tones, and on request its notes in a key.

use crate::cli::args::{Player, Third};
use crate::cli::failure::Failure;
use crate::cli::output::say;
use crate::cli::patterns::show_json;
use crate::cli::patterns::show_lines::{InRegisters, THIRDS, lines_in, over_chords};
use crate::cli::resolve::{self, Who, pattern};
use crate::files;
use crate::music::{ConcertKey, Instrument, Level, Sounding, Tonality, fits, scales_holding};
use crate::pattern::{self, Cycle, Family, Library, Pattern};
use crate::words::numbers::counted;
use crate::words::patterns::{level_name, level_words, parts, rhythm_words};

/// Shows the pattern.
pub fn run(name: &str, key: Option<&str>, register: Option<Third>, player: &Player, json: bool) -> Result<(), Failure> {
    let library = resolve::library()?;
    let pattern = pattern(&library, name)?;
    let settings = files::UserSettings::load(&files::Places::usual()?)?;
    let who = Who::of(player, &settings)?;
    let begun = library.get(&pattern.id).map(begun).unwrap_or_default();
    let key = key.map(|key| who.key(key)).transpose()?;
    let lines = || key.map(|key| lines_in(&pattern, key, register, &who)).transpose();
    if json {
        return say(show_json::shown(&pattern, &begun, key.zip(lines()?), &who));
    }
    let alike = sounds_as(&library, &pattern);
    for row in rows(&pattern)
        .into_iter()
        .chain(alike)
        .chain(begins(&pattern, &begun))
        .chain(breath(&pattern, &who.page.instrument))
    {
        say(row.trim_end())?;
    }
    match key.zip(lines()?) {
        Some((key, lines)) => in_key(&pattern, &lines, key, &who),
        None => Ok(()),
    }
}

fn row(head: &str, text: &str) -> String {
    format!("  {head:12} {text}")
}

fn rows(pattern: &Pattern) -> Vec<String> {
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

/// The patterns that are the same notes in the same rhythm, from some root.
fn sounds_as(library: &Library, pattern: &Pattern) -> Option<String> {
    let others: Vec<&str> = library.sounding_as(pattern).into_iter().map(|other| other.name.as_str()).collect();
    (!others.is_empty()).then(|| row("same notes", &format!("on some root, as {}", others.join("; "))))
}

/// The same pattern begun on each of the other notes on which it may begin.
fn begun(pattern: &Pattern) -> Vec<Pattern> {
    pattern::starts(pattern).into_iter().filter_map(|start| pattern::begun_on(pattern, start)).collect()
}

/// The notes on which it may begin, with the name it then has.
fn begins(pattern: &Pattern, others: &[Pattern]) -> Option<String> {
    let notes = [pattern].into_iter().chain(others).filter_map(|begun| Some(begun.notes().first()?.degree));
    let notes: Vec<String> = notes.map(|degree| degree.to_string()).collect();
    Some(row("begins on", &format!("{}   ({})", notes.join(" "), others.first()?.id)))
}

/// The scales that fit each chord, the first choice first.
fn scales(pattern: &Pattern) -> Vec<String> {
    let mut told: Vec<&str> = Vec::new();
    let mut rows = Vec::new();
    for section in pattern.chords() {
        let name = section.root.quality.name();
        let Some(chord) = section.root.quality.chord().filter(|_| !told.contains(&name)) else { continue };
        told.push(name);
        let mut names: Vec<&str> = fits(chord).iter().flat_map(|fit| &fit.scales).map(|s| s.name.as_str()).collect();
        if names.is_empty() {
            names = scales_holding(chord).iter().map(|scale| scale.name.as_str()).collect();
        }
        let mut once: Vec<&str> = Vec::new();
        names.into_iter().for_each(|name| {
            if !once.contains(&name) {
                once.push(name)
            }
        });
        rows.push(row(&format!("{name} takes"), &once.join("; ")));
    }
    rows
}

/// From which tempo on one breath or one bow holds the line, where that is within the usual tempos.
fn breath(pattern: &Pattern, instrument: &Instrument) -> Option<String> {
    let enough = 60.0 * pattern.length().0 / instrument.phrase?.0;
    let with = if instrument.sounding == Sounding::Bow { "bow" } else { "breath" };
    let told = format!("longer than one {with} of the {} below quarter = {enough:.0}", instrument.name);
    (enough > pattern.tempo.low.0).then(|| row(with, &told))
}

/// The signature of a page in words.
fn signature(page: Tonality) -> String {
    match page.signature().sharps() {
        0 => "no sharps or flats".to_owned(),
        sharps @ 1.. => counted(usize::from(sharps.unsigned_abs()), "sharp"),
        flats => counted(usize::from(flats.unsigned_abs()), "flat"),
    }
}

/// The names of these lines' notes.
fn in_key(pattern: &Pattern, lines: &[InRegisters], key: ConcertKey, who: &Who) -> Result<(), Failure> {
    let spelling = pattern.spelling();
    let page = who.page.tonality(key, pattern.mode());
    say(row("signature", &format!("{}: {}", pattern.heading(page), signature(page))))?;
    say(row("range", &range(who)))?;
    for (registers, line) in lines {
        let names: Vec<String> =
            line.notes.iter().map(|note| who.page.with_octave(who.page.expected(note, key, spelling))).collect();
        let every = registers.len() == THIRDS.len();
        say(row(&if every { "any register".to_owned() } else { registers.join(", ") }, &names.join(" ")))?;
        if registers.len() > 1 {
            let octave = if every { "it fits the range in one octave only" } else { "these fall on one octave" };
            say(row("", octave))?;
        }
    }
    Ok(())
}

/// Lowest and highest note on the page, and whose compass that is.
fn range(who: &Who) -> String {
    let [low, high] = [who.range.low, who.range.high].map(|pitch| who.page.heard(pitch.midi()));
    let whose = match who.compass {
        None => "your own",
        Some(Level::Student) => "a student's compass",
        Some(Level::Working) => "a working player's compass",
        Some(Level::Professional) => "a professional's compass",
    };
    format!("{low} to {high}, {whose} on the {}", who.page.instrument.name)
}
