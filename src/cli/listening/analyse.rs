//! `analyse`: free playing taken apart; it is told, never graded.

use crate::cli::args::analyse::AnalyseTyped;
use crate::cli::charts::band;
use crate::coach::Rng;
use crate::files::{Places, UserSettings};
use crate::free::{FreeLine, FreeParts, FreeVocabulary, LookedFor, OverForm, PlacedForm};
use crate::music::Mode;
use crate::pattern::Pattern;
use crate::report;
use crate::talk::failure::Failure;
use crate::talk::free_views;
use crate::talk::habit::{self, KeptHabit};
use crate::talk::library::{library, patterns};
use crate::talk::named_charts;
use crate::talk::notation_files::unheeded;
use crate::talk::output::say;
use crate::talk::player::{Who, tempo};
use crate::units::Seconds;
use crate::words::free::FormKey;

/// Takes the line of a recording, a MIDI file or a MusicXML file apart.
pub fn run(typed: &AnalyseTyped) -> Result<(), Failure> {
    let settings = UserSettings::load(&Places::usual()?)?;
    let who = Who::of(&typed.player, &settings)?;
    unheeded(&typed.file, typed.player.a4.is_some());
    let (line, first_bar) =
        free_views::line(&typed.file, tempo(typed.tempo)?, typed.player.instrument.is_some(), &who)?;
    let form = form(typed, &line, first_bar, &who)?;
    let over = form.as_ref().map(|(form, _)| OverForm::of(&line, form));
    let parts = FreeParts::of(&line);
    let library = library()?;
    let asked = patterns(&library, &typed.patterns)?;
    let wanted: Vec<&Pattern> = asked.as_ref().map_or(library.patterns(), |asked| asked).iter().collect();
    let wanted = LookedFor { patterns: &wanted, practised: asked.is_some() };
    // The seed is fixed, so that the same file always gives the same result.
    let mut rng = Rng::new(1);
    let found = FreeVocabulary::of(&line, wanted, &library, &mut || rng.uniform());
    let placed = form.as_ref().map(|(form, _)| form).zip(over.as_ref());
    if typed.json {
        return say(report::free_json(&line, &parts, &found, placed));
    }
    if let Some(number) = typed.learn {
        let key = typed.key.as_deref().map(|key| who.key(key)).transpose()?;
        return habit::keep(&KeptHabit { number, name: typed.name.as_deref(), key }, &line, &found, &library, &who);
    }
    let on_page = form.as_ref().map(|(form, home)| (form, *home));
    if let Some(musicxml) = &typed.musicxml {
        return free_views::write_score(musicxml, &typed.file, (&line, &parts, &found), on_page, &who);
    }
    free_views::tell(&line, &parts, &found, on_page.zip(over.as_ref()), &who)
}

/// The chart that the line was played over, laid under the line.
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
