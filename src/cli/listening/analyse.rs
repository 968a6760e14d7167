//! `analyse`: free playing taken apart. Told, never graded.

use std::io::IsTerminal;
use std::path::Path;

use crate::cli::args::analyse::AnalyseTyped;
use crate::cli::charts::band;
use crate::cli::listening::{habit, notes};
use crate::cli::patterns::exchange;
use crate::coach::Rng;
use crate::engine;
use crate::files::{self, Places, UserSettings};
use crate::free::{FreeLine, FreeParts, FreeVocabulary, LookedFor, NoLine, OverForm, PlacedForm};
use crate::music::Mode;
use crate::pattern::{Family, Library, Pattern};
use crate::report;
use crate::talk::failure::Failure;
use crate::talk::library::{library, pattern};
use crate::talk::named_charts;
use crate::talk::output::{bytes, say};
use crate::talk::player::{Who, tempo};
use crate::units::{Beats, Seconds, Tempo};
use crate::words::free::{self, FormKey, PictureCell};

/// Standard MIDI Files 1.0: without a tempo event a quarter note lasts half a second. A score without one is read at it too.
const FILE_TEMPO: Tempo = Tempo(120.0);

/// A line, and where a score says that its first bar begins.
type Read = (FreeLine, Option<Seconds>);

/// Takes a recording apart.
pub fn run(typed: &AnalyseTyped) -> Result<(), Failure> {
    let settings = UserSettings::load(&Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    let (line, first_bar) = line(typed, tempo(typed.tempo)?, &who)?;
    let form = form(typed, &line, first_bar, &who)?;
    let over = form.as_ref().map(|(form, _)| OverForm::of(&line, form));
    let parts = FreeParts::of(&line);
    let library = library()?;
    let asked = asked(typed, &library)?;
    let patterns: Vec<&Pattern> = asked.as_ref().map_or(library.patterns(), |asked| asked).iter().collect();
    let wanted = LookedFor { patterns: &patterns, practised: asked.is_some() };
    // The same file tells the same, so the lines drawn are the same.
    let mut rng = Rng::new(1);
    let found = FreeVocabulary::of(&line, wanted, &library, &mut || rng.uniform());
    let placed = form.as_ref().map(|(form, _)| form).zip(over.as_ref());
    if typed.json {
        return say(report::free_json(&line, &parts, &found, placed));
    }
    if let Some(number) = typed.learn {
        return habit::keep(typed, number, &line, &found, &library, &who);
    }
    let page = &who.page;
    free::head(&line, &parts, page).into_iter().try_for_each(say)?;
    say("")?;
    let on_page = form.as_ref().map(|(form, home)| (form, *home));
    drawn(&free::picture(&line, &parts, &found, on_page, page), who.appearance().colour)?;
    let mut sections = vec![free::vocabulary(&line, &found, page)];
    sections
        .extend(on_page.zip(over.as_ref()).map(|((form, home), over)| free::over_form(&line, form, over, home, page)));
    sections.push(free::rows(&line, &parts, on_page.map(|(form, _)| form), page));
    sections.into_iter().try_for_each(|lines| std::iter::once(String::new()).chain(lines).try_for_each(say))
}

/// Prints the picture; on a terminal the families have colours as well as shapes.
fn drawn(rows: &[Vec<PictureCell>], colour: bool) -> Result<(), Failure> {
    let colour = colour && std::io::stdout().is_terminal();
    for row in rows {
        let mut text = String::new();
        for (sign, family) in row {
            match (colour, family) {
                (true, Some(Family::HalfSteps)) => text += &format!("\x1b[33m{sign}\x1b[0m"),
                (true, Some(Family::Skips)) => text += &format!("\x1b[36m{sign}\x1b[0m"),
                _ => text.push(*sign),
            }
        }
        bytes(format!("{}\n", text.trim_end()).as_bytes())?;
    }
    Ok(())
}

/// The patterns that were named; `None` where none were.
fn asked(typed: &AnalyseTyped, library: &Library) -> Result<Option<Vec<Pattern>>, Failure> {
    let named = typed.patterns.iter().map(|name| pattern(library, name)).collect::<Result<Vec<_>, _>>()?;
    Ok((!named.is_empty()).then_some(named))
}

/// The chart that it was played over, laid under it.
fn form(
    typed: &AnalyseTyped,
    line: &FreeLine,
    first_bar: Option<Seconds>,
    who: &Who,
) -> Result<Option<(PlacedForm, FormKey)>, Failure> {
    let Some(chart) = &typed.chart else { return Ok(None) };
    let form = named_charts::chart(chart)?;
    let key = band::first_key(typed.key.as_deref(), &form, who)?;
    let tempo = line.tempo.ok_or_else(|| {
        Failure::usage("at which tempo was it played?", "Add --tempo 132, in quarter notes a minute.")
    })?;
    let mode = if form.chart.is_minor() { Mode::Minor } else { Mode::Major };
    let chorus = form.in_key(key.0, false).chorus();
    let placed = match typed.begins.map(Seconds).or(first_bar) {
        Some(begins) => PlacedForm::at(chorus, begins, tempo),
        None => PlacedForm::found(chorus, tempo, line),
    };
    Ok(Some((placed, FormKey { key, mode })))
}

/// The line of a file, through the ear or as it is written.
fn line(typed: &AnalyseTyped, tempo: Option<Tempo>, who: &Who) -> Result<Read, Failure> {
    let file: &Path = &typed.file;
    files::plain(file)?;
    let none = |why: NoLine| Failure::input(file.display(), why, free::mend(&why));
    if let Some(heard) = exchange::played(file)? {
        // A file of one voice says its tempo; where several keys sound at once, the highest of them is the line.
        let voice = exchange::voice(file).ok().flatten();
        let tempo = tempo.or_else(|| voice.as_ref().and_then(|voice| voice.tempo));
        return Ok((FreeLine::heard(&heard, tempo).map_err(none)?, None));
    }
    if let Some(voice) = exchange::voice(file)? {
        let named = typed.player.instrument.is_some() && !voice.sounding;
        let voice = if named { exchange::sounding(voice, &who.page.instrument) } else { voice };
        let tempo = tempo.or(voice.tempo).unwrap_or(FILE_TEMPO);
        let first_bar = tempo.lasting(Beats(voice.pickup.0));
        return Ok((FreeLine::written(&voice.line, tempo).map_err(none)?, Some(first_bar)));
    }
    let recording = notes::read(file)?;
    let ear = engine::ear_settings(recording.rate, who.a4, Some(&who.page.instrument));
    Ok((FreeLine::heard(&engine::hear_recording(&ear, &recording, false)?.1, tempo).map_err(none)?, None))
}
