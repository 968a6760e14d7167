//! What a player keeps of a plan: keys held out of practice, and what was left over.

use crate::coach::HeldOut;
use crate::files::UserSettings;
use crate::files::settings_day::LeftOver;
use crate::files::settings_held_out::HeldOutKey;
use crate::files::today::date_of;
use crate::session::PlayerId;

impl UserSettings {
    /// The keys that a player holds out on an instrument, including those that are practised again by now.
    #[must_use]
    pub fn held_out(&self, player: Option<PlayerId>, instrument: &str) -> Vec<HeldOut> {
        self.held_out.iter().filter(|it| it.is_of(player, instrument)).filter_map(HeldOutKey::to_held_out).collect()
    }

    /// Keeps these keys in the place of what the player held out on the instrument before.
    pub fn hold_out(&mut self, player: Option<PlayerId>, instrument: &str, keys: &[HeldOut]) {
        let (mine, others): (Vec<HeldOutKey>, Vec<HeldOutKey>) =
            std::mem::take(&mut self.held_out).into_iter().partition(|it| it.is_of(player, instrument));
        self.held_out = others;
        // A key that stays held out keeps what a later program wrote of it.
        let kept = |held: &HeldOut| mine.iter().find(|it| it.to_held_out() == Some(*held)).cloned();
        self.held_out.extend(keys.iter().map(|it| kept(it).unwrap_or_else(|| HeldOutKey::new(it, player, instrument))));
    }

    /// What was left over of a player's latest plan.
    #[must_use]
    pub fn left_over(&self, player: Option<PlayerId>) -> Option<&LeftOver> {
        let id = player.map(|player| player.to_string());
        self.day.left.iter().find(|left| left.player == id)
    }

    /// Keeps what was left of the plan of `day` in the place of what was left before; removes it where nothing was left.
    pub fn leave_over(&mut self, player: Option<PlayerId>, day: i32, new: Option<String>, phrases: bool) {
        let player = player.map(|player| player.to_string());
        self.day.left.retain(|left| left.player != player);
        if new.is_some() || phrases {
            self.day.left.push(LeftOver { player, date: date_of(day), new, phrases, rest: toml::Table::new() });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::ConcertKey;
    use crate::units::Decibels;

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
    fn what_a_player_left_stands_until_it_is_done() {
        let (anna, ben) = (Some(PlayerId::new([1; 16])), Some(PlayerId::new([2; 16])));
        let mut settings = UserSettings::default();
        settings.leave_over(anna, 20_786, Some("major-triad-up".to_owned()), true);
        settings.leave_over(ben, 20_786, None, false);
        // GNU date: day 20 786 is 2026-11-29.
        let left = settings.left_over(anna).unwrap();
        assert_eq!((left.date.as_str(), left.phrases), ("2026-11-29", true));
        assert_eq!(settings.left_over(ben), None);
        let text = toml::to_string_pretty(&settings).unwrap();
        assert_eq!(toml::from_str::<UserSettings>(&text).unwrap(), settings, "{text}");
        settings.leave_over(anna, 20_787, None, false);
        assert!(settings.day.is_usual());
    }

    #[test]
    fn what_a_later_program_wrote_into_a_table_outlives_every_change_of_this_one() {
        let text = "[day]\nminutes = 20\nlamp = \"red\"\n[[day.left]]\ndate = \"2026-11-29\"\nlamp = 1\n\
            [[player]]\nid = \"0123456789abcdef0123456789abcdef\"\nlamp = 2\n\
            [[held_out]]\nconcert_key = \"Ab\"\nuntil = \"2026-12-27\"\ninstrument = \"flute\"\nlamp = 3\n\
            [[calibration]]\ninput = \"Mic\"\noutput = \"Phones\"\nbuffer_frames = 480\nremainder_s = 0.01\nspread_s = 0\nlamp = 4\n\
            [[cue_level]]\noutput = \"Phones\"\nheadphones = true\npeak_db = -20\nlamp = 5\n";
        let mut settings = toml::from_str::<UserSettings>(text).unwrap();
        settings.g_flat = Some(true);
        settings.answered_at("Phones", Decibels(-24.0));
        let (held, other) = (settings.held_out(None, "flute"), ConcertKey::FIFTHS[0]);
        settings.hold_out(None, "flute", &[HeldOut { key: other, until: held[0].until }, held[0]]);
        let text = toml::to_string_pretty(&settings).unwrap();
        for kept in ["lamp = \"red\"", "lamp = 1", "lamp = 2", "lamp = 3", "lamp = 4", "lamp = 5"] {
            assert!(text.contains(kept), "{kept}: {text}");
        }
        assert_eq!(toml::from_str::<UserSettings>(&text).unwrap(), settings);
    }
}
