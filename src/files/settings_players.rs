//! The players of this machine: each has an id that never changes, and a name that may.

use serde::{Deserialize, Serialize};

use crate::files::settings_errors::one_of;
use crate::session::{NamedPlayer, PlayerId};

/// A player of this machine, as the settings hold it. The first is the one that is meant where nobody is named.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KnownPlayer {
    /// 32 hexadecimal digits, drawn once.
    pub id: String,
    /// The name or pseudonym; it may be empty.
    #[serde(default)]
    pub name: String,
    /// Keys that this program does not know, kept as they are.
    #[serde(flatten)]
    pub rest: toml::Table,
}

impl From<&NamedPlayer> for KnownPlayer {
    fn from(player: &NamedPlayer) -> Self {
        Self { id: player.id.to_string(), name: player.name.clone(), rest: toml::Table::new() }
    }
}

impl KnownPlayer {
    /// The player as the record names it; `None` where the id is not 32 hexadecimal digits.
    pub(super) fn named(&self) -> Option<NamedPlayer> {
        PlayerId::from_hex(&self.id).map(|id| NamedPlayer::new(id, &self.name))
    }

    /// Whether what is typed is this name, whatever its case.
    pub(super) fn is(&self, typed: &str) -> bool {
        self.named().is_some_and(|known| known.is(typed))
    }
}

/// Checks the players of a settings file; the error says what is wrong.
pub(super) fn check(players: &[KnownPlayer]) -> Result<(), String> {
    for (index, player) in players.iter().enumerate() {
        if PlayerId::from_hex(&player.id).is_none() {
            let at = one_of("player", index, "id");
            return Err(format!("{at} = {:?} is not 32 digits of 0 to 9 and a to f", player.id));
        }
        if players[..index].iter().any(|other| other.id == player.id) {
            let at = one_of("player", index, "id");
            return Err(format!("{at} = {:?} is another player's too", player.id));
        }
    }
    Ok(())
}
