//! Keys held out of practice: whose, on which instrument, until when.

use serde::{Deserialize, Serialize};

use crate::coach::HeldOut;
use crate::files::UserSettings;
use crate::files::today::date_of;
use crate::music::ConcertKey;
use crate::report::day_of;
use crate::session::PlayerId;

/// One key, as the settings hold it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HeldOutKey {
    /// The key, as it sounds.
    pub concert_key: String,
    /// The first day on which it is practised again, such as 2026-12-27.
    pub until: String,
    /// Id of the instrument.
    pub instrument: String,
    /// Id of the player; left out for the one of a machine that knows none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub player: Option<String>,
}

impl HeldOutKey {
    fn is_of(&self, player: Option<PlayerId>, instrument: &str) -> bool {
        self.instrument == instrument && self.player == player.map(|id| id.to_string())
    }
}

impl UserSettings {
    /// The keys that a player holds out on an instrument, also those whose day has come.
    #[must_use]
    pub fn held_out(&self, player: Option<PlayerId>, instrument: &str) -> Vec<HeldOut> {
        let mine = self.held_out.iter().filter(|it| it.is_of(player, instrument));
        mine.filter_map(|it| Some(HeldOut { key: key(&it.concert_key)?, until: day_of(&it.until)? })).collect()
    }

    /// Keeps these in the place of what the player held out on the instrument before.
    pub fn hold_out(&mut self, player: Option<PlayerId>, instrument: &str, keys: &[HeldOut]) {
        self.held_out.retain(|it| !it.is_of(player, instrument));
        self.held_out.extend(keys.iter().map(|it| HeldOutKey {
            concert_key: it.key.name().to_owned(),
            until: date_of(it.until),
            instrument: instrument.to_owned(),
            player: player.map(|id| id.to_string()),
        }));
    }
}

fn key(name: &str) -> Option<ConcertKey> {
    ConcertKey::FIFTHS.into_iter().find(|key| key.name() == name)
}

/// What is wrong with the keys of a settings file.
pub(super) fn check(keys: &[HeldOutKey]) -> Result<(), String> {
    for it in keys {
        if key(&it.concert_key).is_none() {
            return Err(format!("held_out.concert_key = {:?} is none of C G D A E B F# Db Ab Eb Bb F", it.concert_key));
        }
        if day_of(&it.until).is_none() {
            return Err(format!("held_out.until = {:?} is no date such as 2026-12-27", it.until));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_held_out_by_one_player_on_one_instrument() {
        let (anna, ben) = (Some(PlayerId::new([1; 16])), Some(PlayerId::new([2; 16])));
        let mut settings = UserSettings::default();
        let held = |place: usize, until| HeldOut { key: ConcertKey::FIFTHS[place], until };
        settings.hold_out(anna, "trumpet", &[held(3, 20_800), held(8, 20_810)]);
        settings.hold_out(ben, "trumpet", &[held(1, 20_800)]);
        settings.hold_out(anna, "flute", &[held(2, 20_801)]);
        settings.hold_out(anna, "trumpet", &[held(8, 20_820)]);
        assert_eq!(settings.held_out(anna, "trumpet"), [held(8, 20_820)]);
        assert_eq!(settings.held_out(ben, "trumpet"), [held(1, 20_800)]);
        assert_eq!(settings.held_out(None, "trumpet"), []);
        // GNU date: day 20 801 is 2026-12-14.
        assert_eq!(settings.held_out.iter().find(|it| it.instrument == "flute").unwrap().until, "2026-12-14");
        let text = toml::to_string_pretty(&settings).unwrap();
        assert_eq!(toml::from_str::<UserSettings>(&text).unwrap(), settings, "{text}");
        settings.remove_player(PlayerId::new([1; 16]));
        assert_eq!(settings.held_out.len(), 1, "who is forgotten holds nothing out");
    }

    #[test]
    fn a_key_or_a_date_that_is_none_is_named() {
        let it = |concert_key: &str, until: &str| HeldOutKey {
            concert_key: concert_key.to_owned(),
            until: until.to_owned(),
            instrument: "trumpet".to_owned(),
            player: None,
        };
        assert_eq!(check(&[it("Ab", "2026-12-27")]), Ok(()));
        assert!(check(&[it("H", "2026-12-27")]).unwrap_err().contains("\"H\""));
        assert!(check(&[it("Ab", "2026-02-30")]).unwrap_err().contains("2026-02-30"));
    }
}
