//! What a player keeps of a plan: keys held out of practice.

use crate::coach::HeldOut;
use crate::files::UserSettings;
use crate::files::settings_held_out::HeldOutKey;
use crate::session::PlayerId;

impl UserSettings {
    /// The keys that a player holds out on an instrument, also those whose day has come.
    #[must_use]
    pub fn held_out(&self, player: Option<PlayerId>, instrument: &str) -> Vec<HeldOut> {
        self.held_out.iter().filter(|it| it.is_of(player, instrument)).filter_map(HeldOutKey::held).collect()
    }

    /// Keeps these in the place of what the player held out on the instrument before.
    pub fn hold_out(&mut self, player: Option<PlayerId>, instrument: &str, keys: &[HeldOut]) {
        self.held_out.retain(|it| !it.is_of(player, instrument));
        self.held_out.extend(keys.iter().map(|it| HeldOutKey::new(it, player, instrument)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::ConcertKey;

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
}
