//! How a player is called where several stand beside one another.

use crate::session::NamedPlayer;

/// A player as a reader needs it: the name, or "unnamed"; and the beginning of the id where another of these players has the same name.
pub(super) fn called(player: Option<&NamedPlayer>, all: &[Option<&NamedPlayer>]) -> String {
    let name = |player: Option<&NamedPlayer>| match player {
        Some(player) if !player.name.is_empty() => player.name.clone(),
        _ => "unnamed".to_owned(),
    };
    let (mine, id) = (name(player), player.map(|player| player.id));
    let shared = all.iter().any(|other| other.map(|player| player.id) != id && name(*other) == mine);
    match id {
        Some(id) if shared => format!("{mine} ({})", id.short()),
        _ => mine,
    }
}

/// Who plays a part: the player as called, or the simulated one.
pub(super) fn who_plays(player: Option<&NamedPlayer>, simulated: bool, called: &str) -> String {
    match (player, simulated) {
        (None, true) => "the simulated player".to_owned(),
        (Some(_), true) => format!("{called}, the simulated player"),
        (_, false) => called.to_owned(),
    }
}
