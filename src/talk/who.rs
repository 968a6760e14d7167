//! Who plays: a player of this machine, or a new one, who is given an id.

use std::collections::BTreeMap;
use std::collections::hash_map::RandomState;
use std::hash::BuildHasher;

use crate::files::{Places, UserSettings};
use crate::session::{Began, NamedPlayer, PlayerId};
use crate::talk::failure::{Failure, clean};
use crate::talk::output::warn;

/// Draws an id that no other player has. The standard library's hash keys come from the system's random numbers.
pub fn drawn() -> PlayerId {
    let keys = RandomState::new();
    let mut bytes = [0; 16];
    for (half, number) in bytes.chunks_exact_mut(8).zip(0u8..) {
        half.copy_from_slice(&keys.hash_one(number).to_le_bytes());
    }
    PlayerId::new(bytes)
}

/// Smallest number of digits of an id by which a player may be named.
const ENOUGH: usize = 4;

/// The player that is meant, where one is known by that name; without a name the first player, if there is one.
pub fn known(typed: Option<&str>, stored: &UserSettings) -> Result<Option<NamedPlayer>, Failure> {
    one_of(stored.players_called(typed), typed.unwrap_or(""))
}

/// The player that is meant by a name, whom the settings know or only records do.
pub fn anywhere<'a>(
    typed: &str,
    stored: &UserSettings,
    recorded: impl Iterator<Item = &'a Began>,
) -> Result<Option<NamedPlayer>, Failure> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    let is = |player: &&NamedPlayer| {
        let by_id = typed.len() >= ENOUGH && player.id.to_string().starts_with(typed);
        by_id || player.is(typed)
    };
    // The settings come last, because they have the name of today.
    let recorded = recorded.filter_map(|began| began.player.as_ref()).filter(is).cloned();
    let found: BTreeMap<PlayerId, NamedPlayer> =
        recorded.chain(stored.players_called(Some(typed))).map(|player| (player.id, player)).collect();
    one_of(found.into_values().collect(), typed)
}

/// The only player found, if there is one; an error where there are several.
fn one_of(mut found: Vec<NamedPlayer>, typed: &str) -> Result<Option<NamedPlayer>, Failure> {
    if found.len() > 1 {
        let ids: Vec<String> = found.iter().map(|player| player.id.to_string()).collect();
        let mend = format!("Name one by the beginning of its id: {}.", ids.join(" or "));
        return Err(Failure::usage(format!("{} players are called \"{}\"", ids.len(), clean(typed)), mend));
    }
    Ok(found.pop())
}

/// The player that is meant, as by [`known`], but a name that no player has yet is an error.
pub fn known_already(typed: Option<&str>, stored: &UserSettings) -> Result<Option<NamedPlayer>, Failure> {
    let found = known(typed, stored)?;
    match typed {
        Some(name) if found.is_none() && !name.trim().is_empty() => {
            let names: Vec<&str> = stored.players.iter().map(|player| player.name.as_str()).collect();
            let mend = match names[..] {
                [] => {
                    "No player is known yet; a drill, demo or trade that is played with --player NAME makes one known."
                        .to_owned()
                }
                _ => {
                    let known = clean(&names.join(", "));
                    format!(
                        "Known here: {known}; whoever plays a drill, demo or trade with --player NAME becomes known."
                    )
                }
            };
            Err(Failure::usage(format!("no player here is called \"{}\"", clean(name)), mend))
        }
        _ => Ok(found),
    }
}

/// Makes sure that the player who is meant is among the players of these settings, which are not written yet.
pub fn meant(typed: Option<&str>, stored: &mut UserSettings, places: &Places) -> Result<NamedPlayer, Failure> {
    if let Some(player) = known(typed, stored)? {
        return Ok(player);
    }
    let player = NamedPlayer::new(drawn(), typed.unwrap_or(""));
    if !stored.players.is_empty() {
        let file = clean(&places.settings().display().to_string());
        warn(format!("{} is new here; whoever only has another name now changes it in {file}", player.name));
    }
    stored.add_player(&player);
    Ok(player)
}

/// Writes a player into the settings, which are read anew because another earfirst may have written since. Where they cannot be written,
/// a warning says so, and the sitting has no player: an id that is not kept would be another one next time.
pub fn keep(player: NamedPlayer, places: &Places) -> Option<NamedPlayer> {
    let kept = UserSettings::change(places, |stored| {
        if stored.players.iter().all(|known| known.id != player.id.to_string()) {
            stored.add_player(&player);
        }
    });
    match kept {
        Ok(_) => Some(player),
        Err(failure) => {
            warn(format!("who plays is not kept, so this record names nobody: {failure}"));
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::drawn;

    #[test]
    fn no_two_players_draw_one_id() {
        let mut ids: Vec<_> = (0..10_000).map(|_| drawn()).collect();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), 10_000);
    }
}
