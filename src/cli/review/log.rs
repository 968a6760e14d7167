//! `log`: weeks at a glance, from the index of the sittings.

use crate::cli::args::LogTyped;
use crate::files::{self, IndexedSitting, Places, UserSettings};
use crate::report::{self, SittingFigures};
use crate::session::PlayerId;
use crate::talk::failure::Failure;
use crate::talk::output::say;
use crate::talk::sitting::after_today;
use crate::talk::{told_files, who};
use crate::words::numbers::numbered;

/// Shows weeks at a glance.
pub fn run(typed: &LogTyped) -> Result<(), Failure> {
    let places = Places::usual()?;
    let settings = UserSettings::load(&places)?;
    let found = files::indexed(&places);
    let today = files::today().day;
    let (later, known): (Vec<IndexedSitting>, Vec<IndexedSitting>) =
        found.sittings.into_iter().partition(|sitting| sitting.figures.began.day > today.saturating_add(1));
    if !typed.json {
        told_files::twice(&found.again);
        told_files::unreadable(&found.failures);
        told_files::later(later.iter().map(|it| (&it.path, &it.figures.began)));
    }
    let all = known.len();
    let player = player(typed.player.as_deref(), &settings, &known)?;
    // Where the settings know no player and none is named, the log is of everybody.
    let everybody = typed.player.is_none() && player.is_none();
    let mine: Vec<SittingFigures> = known
        .into_iter()
        .map(|sitting| sitting.figures)
        .filter(|figures| everybody || settings.owns(player, &figures.began))
        .collect();
    let parts = report::log(&mine, today);
    if typed.json {
        let unreadable = found.failures.iter().map(ToString::to_string).collect::<Vec<_>>();
        let later: Vec<String> = later.iter().map(|it| after_today(&it.path, &it.figures.began)).collect();
        return say(report::log_json(&parts, today, &unreadable, &later));
    }
    if parts.is_empty() {
        say("No sitting is kept here yet.")?;
    } else {
        say(report::log_to_text(&parts, today).trim_end())?;
    }
    match all - mine.len() {
        0 => Ok(()),
        others => say(format!("({} of other players: --player NAME)", numbered(others, "sitting"))),
    }
}

/// The player whose log is asked for, found in the settings or in the records.
fn player(typed: Option<&str>, settings: &UserSettings, known: &[IndexedSitting]) -> Result<Option<PlayerId>, Failure> {
    let found = match typed {
        Some(name) => match who::anywhere(name, settings, known.iter().map(|it| &it.figures.began))? {
            Some(player) => Some(player),
            None => who::known_already(typed, settings)?,
        },
        None => who::known(None, settings)?,
    };
    Ok(found.map(|player| player.id))
}
