//! Charts in from MusicXML and text files, and out to MusicXML.

use std::path::Path;

use crate::chart::{NamedChart, print_form};
use crate::cli::args::Player;
use crate::exchange::{ChartSheet, NotationKind, chart_from_musicxml, chart_to_musicxml};
use crate::files::{Places, UserSettings, write_named};
use crate::talk::failure::Failure;
use crate::talk::named_charts;
use crate::talk::notation_files::notation;
use crate::talk::output::say;
use crate::talk::own_charts::keep;
use crate::talk::player::Who;
use crate::words::numbers::counted;

/// Keeps the chart of a MusicXML or text file as the player's own, or prints it.
pub fn import(file: &Path, name: &str, save: Option<&Path>, print: bool) -> Result<(), Failure> {
    let id: String = name.trim().to_lowercase().replace([' ', '_'], "-");
    let form = NamedChart { name: name.trim().to_owned(), ..read(file, &id)? };
    if print {
        return say(print_form(&form).trim_end());
    }
    let path = keep(&form, save)?;
    say(format!("{} is kept in {}: earfirst charts show {}", form.name, path.display(), form.id))
}

fn read(file: &Path, id: &str) -> Result<NamedChart, Failure> {
    let Some((NotationKind::Score, bytes)) = notation(file, "Name a .musicxml or a text file.")? else {
        return named_charts::made(&named_charts::text(file)?, id, &file.display().to_string());
    };
    let (_, chart) = chart_from_musicxml(&bytes).map_err(|refused| {
        Failure::input(file.display(), refused, "Export the lead sheet anew, or write its chords in a text file.")
    })?;
    Ok(NamedChart { chart, ..named_charts::made("| C |", id, "")? })
}

/// Writes a chart as MusicXML, as it stands on the player's page.
pub fn export(typed: &str, key: Option<&str>, player: &Player, musicxml: &Path) -> Result<(), Failure> {
    let form = named_charts::chart(typed)?;
    let who = Who::of(player, &UserSettings::load(&Places::usual()?)?)?;
    let chart = named_charts::on_page(&form, key, &who)?;
    let transposition = who.page.transposition();
    let bars = counted(chart.chorus().bars as usize, "bar");
    let home = chart.home().map_or_else(String::new, |home| format!(" in {home}"));
    let sheet = ChartSheet { title: form.name.clone(), chart, transposition, tempo: form.tempo, swing: form.swing };
    write_named(musicxml, &chart_to_musicxml(&sheet))?;
    say(format!("{}: {}{home}, {bars}", musicxml.display(), form.name))
}
