//! Commands on charts: list, show, check, sound, import, export.

pub mod band;
mod exchange;
mod sound;

use std::path::Path;

use crate::chart::{ChordChart, NamedChart, check_forms};
use crate::cli::args::Player;
use crate::cli::args::charts::{ChartAction, ChartCommands};
use crate::files::{Places, UserSettings};
use crate::talk::failure::Failure;
use crate::talk::named_charts;
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::words::numbers::counted;

/// The charts: list, show, check, sound, import, export.
pub fn run(typed: &ChartCommands) -> Result<(), Failure> {
    match &typed.action {
        None => list(false),
        Some(ChartAction::List { json }) => list(*json),
        Some(ChartAction::Show { chart, key, player, json }) => show(chart, key.as_deref(), player, *json),
        Some(ChartAction::Check { file }) => check(file),
        Some(ChartAction::Sound(typed)) => sound::run(typed),
        Some(ChartAction::Import { file, name, save, print }) => exchange::import(file, name, save.as_deref(), *print),
        Some(ChartAction::Export { chart, key, player, musicxml }) => {
            exchange::export(chart, key.as_deref(), player, musicxml)
        }
    }
}

/// Bars of a form, all keys of a cycle included.
fn bars(form: &NamedChart) -> u32 {
    form.in_key(named_charts::C, false).chorus().bars
}

fn list(json: bool) -> Result<(), Failure> {
    let forms = named_charts::forms()?;
    if json {
        let rows = forms.all().iter().map(|form| {
            serde_json::json!({
                "id": form.id, "name": form.name, "bars": bars(form), "meter": format!("{}/4", form.chart.meter()),
                "tempo": form.tempo.0, "swing": form.swing, "source": form.source,
            })
        });
        return say(serde_json::Value::Array(rows.collect()));
    }
    for form in forms.all() {
        say(format!("{:28} {:3} bars  {}/4  {}", form.id, bars(form), form.chart.meter(), form.name))?;
    }
    say(counted(forms.all().len(), "chart"))
}

fn show(typed: &str, key: Option<&str>, player: &Player, json: bool) -> Result<(), Failure> {
    let form = named_charts::chart(typed)?;
    let who = Who::of(player, &UserSettings::load(&Places::usual()?)?)?;
    let chart = match key {
        Some(key) => form.in_key(who.page.written_key(who.key(key)?).0, who.page.reading.g_flat),
        None if form.chart.home().is_none() => form.chart.clone(),
        None => named_charts::on_page(&form, None, &who)?,
    };
    let chorus = if key.is_some() { chart.chorus() } else { named_charts::on_page(&form, None, &who)?.chorus() };
    if json {
        let beats: Vec<Option<String>> = chorus.each_beat().map(|chord| chord.map(ToString::to_string)).collect();
        let shown = serde_json::json!({
            "id": form.id, "name": form.name, "bars": chorus.bars, "meter": chorus.meter, "text": chart.to_string(),
            "pickup": chorus.pickup_beats(), "beats": beats,
        });
        return say(shown);
    }
    let feel = if form.swing { "swings" } else { "even" };
    let count = counted(chorus.bars as usize, "bar");
    say(format!("{} · {count} of {}/4 · {feel} · usually quarter = {:.0}", form.name, chorus.meter, form.tempo.0))?;
    if let (Some(cycle), None) = (form.cycle, key) {
        say(format!("through the twelve keys, by {}; --key C names the first", cycle.name()))?;
    }
    if key.is_some() && !who.page.reading.concert {
        say(format!("as on the page of the {}", who.page.instrument.name))?;
    }
    say(chart)
}

fn check(file: &Path) -> Result<(), Failure> {
    let text = named_charts::text(file)?;
    let toml = file.extension().is_some_and(|end| end == "toml");
    let misprints = if toml { check_forms(&text) } else { ChordChart::parse(&text).err().unwrap_or_default() };
    if misprints.is_empty() {
        return say(format!("{}: no misprint", file.display()));
    }
    misprints.iter().try_for_each(|one| say(format!("{}:{one}", file.display())))?;
    Err(Failure::input(file.display(), counted(misprints.len(), "misprint"), "Mend them and check again."))
}
