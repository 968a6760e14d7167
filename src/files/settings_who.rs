//! Who is meant by a name, and whose a record is.

use crate::files::UserSettings;
use crate::files::settings_players::KnownPlayer;
use crate::session::{Began, NamedPlayer, PlayerId};

/// Fewest digits that may stand for an id.
const ENOUGH: usize = 4;

impl UserSettings {
    /// The players whose name was typed or, where no name fits, whose id begins with what was typed. Where nothing was typed: the
    /// first player, or none where no player is known.
    #[must_use]
    pub fn players_called(&self, typed: Option<&str>) -> Vec<NamedPlayer> {
        let Some(typed) = typed.map(str::trim).filter(|typed| !typed.is_empty()) else {
            return self.players.first().and_then(KnownPlayer::named).into_iter().collect();
        };
        let called = |is: &dyn Fn(&KnownPlayer) -> bool| -> Vec<NamedPlayer> {
            self.players.iter().filter(|player| is(player)).filter_map(KnownPlayer::named).collect()
        };
        match called(&|player| player.is(typed)) {
            none if none.is_empty() && typed.len() >= ENOUGH => called(&|player| player.id.starts_with(typed)),
            found => found,
        }
    }

    /// Adds a player, behind those that are known.
    pub fn add_player(&mut self, player: &NamedPlayer) {
        self.players.push(player.into());
    }

    /// Takes a player out, with the held-out keys and what was left of the plan; where it was the first, the next is the first now.
    pub fn remove_player(&mut self, player: PlayerId) {
        self.players.retain(|known| known.named().is_none_or(|known| known.id != player));
        self.held_out.retain(|it| it.player != Some(player.to_string()));
        self.day.left.retain(|it| it.player != Some(player.to_string()));
    }

    /// Whether a sitting is this player's own; `None` is nobody in particular. A sitting without a player (nobody in particular, or
    /// from before players had ids) belongs to the first player and to `None`.
    #[must_use]
    pub fn owns(&self, player: Option<PlayerId>, began: &Began) -> bool {
        let first = self.players.first().and_then(KnownPlayer::named).map(|player| player.id);
        match &began.player {
            Some(whose) => player == Some(whose.id),
            None => player.is_none() || player == first,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::settings_players::check;

    fn id(byte: u8) -> PlayerId {
        PlayerId::new([byte; 16])
    }

    fn settings(players: &[(u8, &str)]) -> UserSettings {
        let mut settings = UserSettings::default();
        players.iter().for_each(|(byte, name)| settings.add_player(&NamedPlayer::new(id(*byte), name)));
        settings
    }

    #[test]
    fn a_player_is_meant_by_the_name_or_by_the_beginning_of_the_id() {
        let settings = settings(&[(0xa1, "Anna"), (0xb2, "Ben"), (0xc3, "Anna")]);
        let meant = |typed: Option<&str>| settings.players_called(typed).iter().map(|it| it.id).collect::<Vec<_>>();
        assert_eq!(meant(None), [id(0xa1)], "the first, where nobody is named");
        assert_eq!(meant(Some("ben")), [id(0xb2)]);
        assert_eq!(meant(Some("Anna")), [id(0xa1), id(0xc3)], "two of one name stay two");
        assert_eq!(meant(Some("c3c3")), [id(0xc3)]);
        assert_eq!(meant(Some("Carl")), []);
    }

    #[test]
    fn a_wrong_id_is_named() {
        assert_eq!(check(&settings(&[(1, ""), (2, "")]).players), Ok(()));
        assert!(check(&settings(&[(1, ""), (1, "x")]).players).unwrap_err().contains("is another player's too"));
        let wrong = [KnownPlayer { id: "anna".to_owned(), name: String::new(), rest: toml::Table::new() }];
        assert!(check(&wrong).unwrap_err().contains("id = \"anna\""));
    }
}
