//! Commands on charts: list, show, check, sound, import, export.

pub mod band;
mod exchange;
mod sound;

use std::path::Path;

use crate::chart::{ChordChart, check_forms};
use crate::cli::args::Player;
use crate::cli::args::charts::{ChartAction, ChartCommands};
use crate::files::{Places, UserSettings};
use crate::talk::chart_views;
use crate::talk::failure::Failure;
use crate::talk::named_charts;
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::words::numbers::counted;

/// Runs a command on charts; without one they are listed.
pub fn run(typed: &ChartCommands) -> Result<(), Failure> {
    match &typed.action {
        None => chart_views::listed(named_charts::forms()?.all(), false),
        Some(ChartAction::List { json }) => chart_views::listed(named_charts::forms()?.all(), *json),
        Some(ChartAction::Show { chart, key, player, json }) => show(chart, key.as_deref(), player, *json),
        Some(ChartAction::Check { file }) => check(file),
        Some(ChartAction::Sound(typed)) => sound::run(typed),
        Some(ChartAction::Import { file, name, save, print }) => exchange::import(file, name, save.as_deref(), *print),
        Some(ChartAction::Export { chart, key, player, musicxml }) => {
            exchange::export(chart, key.as_deref(), player, musicxml)
        }
    }
}

fn show(typed: &str, key: Option<&str>, player: &Player, json: bool) -> Result<(), Failure> {
    let form = named_charts::chart(typed)?;
    let who = Who::of(player, &UserSettings::load(&Places::usual()?)?)?;
    let on_page = named_charts::on_page(&form, key, &who)?;
    let chorus = on_page.chorus();
    // A chart in numerals is shown as it is written, unless a key is named.
    let chart = if key.is_none() && form.chart.home().is_none() { form.chart.clone() } else { on_page };
    chart_views::shown(&form, &chart, &chorus, key.is_some(), &who, json)
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
