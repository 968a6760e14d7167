//! How a player is called where several stand beside one another.

use crate::report::review::InstrumentReview;
use crate::session::NamedPlayer;

/// The player of a part as a reader needs it: the name, or "unnamed"; and where another player of these parts has the same, the
/// beginning of the id.
pub(super) fn called(part: &InstrumentReview, parts: &[InstrumentReview]) -> String {
    let name = |player: Option<&NamedPlayer>| match player {
        Some(player) if !player.name.is_empty() => player.name.clone(),
        _ => "unnamed".to_owned(),
    };
    let (mine, id) = (name(part.player.as_ref()), part.player.as_ref().map(|player| player.id));
    let shared = parts.iter().any(|other| {
        let other = other.player.as_ref();
        other.map(|player| player.id) != id && name(other) == mine
    });
    match id {
        Some(id) if shared => format!("{mine} ({})", id.short()),
        _ => mine,
    }
}
