//! `forget`: removes a sitting, or all of a player. What would be removed is listed first.

use std::path::{Path, PathBuf};

use crate::files::{self, Places, SessionIndex, UserSettings};
use crate::session::NamedPlayer;
use crate::talk::failure::{Failure, clean};
use crate::talk::output::{say, warn};
use crate::talk::who;
use crate::words::numbers::numbered;
use crate::words::wrap::wrapped;

/// What `forget` does not reach; it is said every time.
const BEYOND: &str = "Not reached: copies and backups elsewhere; pages, sounds and notes that you wrote out of it; your own \
patterns and charts; and the disk itself, on which deleted bytes may be found until others are written over them.";

/// Number of columns of a printed line.
const COLUMNS: usize = 80;

/// What is to be removed.
struct Removal {
    /// Files and live folders.
    paths: Vec<PathBuf>,
    /// The player, where everything of one is to be removed.
    player: Option<NamedPlayer>,
    /// Whether the settings name the player.
    in_settings: bool,
}

/// Lists what would be removed, or removes it.
pub fn forget(what: &str, yes: bool) -> Result<(), Failure> {
    let places = Places::usual()?;
    let settings = UserSettings::load(&places)?;
    let found = files::survey(&[places.sessions()]);
    let doomed = match found.called(what, &places.sessions()) {
        Some(path) => Removal { paths: found.with_copies(path), player: None, in_settings: false },
        None => of_player(what, &found, &settings)?,
    };
    if doomed.player.is_some() {
        unknown_stay(&found, &places);
    }
    say(if yes { "This goes:" } else { "This would go:" })?;
    for path in &doomed.paths {
        say(format!("  {}{}", clean(&path.display().to_string()), size(path)))?;
    }
    if let Some(player) = doomed.player.as_ref().filter(|_| doomed.in_settings) {
        say(format!("  the player {} (id {}) in {}", named(player), player.id, places.settings().display()))?;
    }
    say(format!("  what the index of your sittings knows of {}", if doomed.paths.len() == 1 { "it" } else { "them" }))?;
    say(wrapped(BEYOND, COLUMNS, "", "    ").join("\n"))?;
    if !yes {
        return say("Nothing has gone yet. The same command with --yes removes it; there is no way back.");
    }
    go(&doomed, &places)
}

/// Removes the files and what the index knows of them; then, where every file went, the player from the settings.
fn go(doomed: &Removal, places: &Places) -> Result<(), Failure> {
    let forgotten = files::forget(places, &doomed.paths);
    let mut gone = vec![numbered(forgotten.gone.len(), "sitting")];
    let Some(first) = forgotten.failures.first() else {
        if let Some(player) = doomed.player.as_ref().filter(|_| doomed.in_settings) {
            UserSettings::change(places, |settings| settings.remove_player(player.id))?;
            gone.push("the player".to_owned());
        }
        return say(format!("Gone: {}.", gone.join(" and ")));
    };
    say(format!("Gone: {}.", gone.join(" and ")))?;
    forgotten.failures.iter().skip(1).for_each(warn);
    Err(first.clone().into())
}

/// Everything of a player, who may be known to the settings or only to records.
fn of_player(typed: &str, found: &SessionIndex, settings: &UserSettings) -> Result<Removal, Failure> {
    let Some(player) = who::anywhere(typed, settings, found.listed.iter().map(|listed| &listed.began))? else {
        let what = format!("no sitting and no player here is called \"{}\"", clean(typed));
        let mend = "Give a file of your sessions folder, a player's name or the beginning of an id.";
        return Err(Failure::usage(what, mend));
    };
    let in_settings = settings.players.iter().any(|known| known.id == player.id.to_string());
    Ok(Removal { paths: found.of_player(player.id, settings), player: Some(player), in_settings })
}

/// Says which files cannot be read: nobody knows whose they are, so they stay.
fn unknown_stay(found: &SessionIndex, places: &Places) {
    let here = places.sessions();
    for failure in found.failures.iter().filter(|failure| failure.place != here) {
        warn(format!("whose this is cannot be told, so it stays; forget it by its name: {failure}"));
    }
}

fn named(player: &NamedPlayer) -> String {
    if player.name.is_empty() { "without a name".to_owned() } else { format!("\"{}\"", player.name) }
}

/// The size of a file in words; nothing for a folder.
fn size(path: &Path) -> String {
    match path.metadata() {
        Ok(meta) if meta.is_file() => format!("  {:.1} MB", meta.len() as f64 / 1e6),
        _ => String::new(),
    }
}
