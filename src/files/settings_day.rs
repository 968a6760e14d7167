//! The plan of the day: how many minutes, which lesson comes before it, and what was left over.

use serde::{Deserialize, Serialize};

use crate::files::UserSettings;
use crate::files::settings_rests::inside;
use crate::files::today::date_of;
use crate::session::PlayerId;

/// What the settings hold of a day's plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct DaySettings {
    /// Minutes of a day; 0 for no plan. Unset until somebody was asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// The file of the lesson that was practised last.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lesson: Option<String>,
    /// What players left of their latest plan.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub left: Vec<LeftOver>,
}

/// What a player left of a plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct LeftOver {
    /// Id of the player; left out for the one of a machine that knows none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub player: Option<String>,
    /// The date of the plan, such as 2026-11-29.
    pub date: String,
    /// The new pattern that was not answered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new: Option<String>,
    /// The joined phrases were not played.
    #[serde(default)]
    pub phrases: bool,
}

impl DaySettings {
    pub(super) fn is_usual(&self) -> bool {
        *self == Self::default()
    }

    pub(super) fn check(&self) -> Result<(), String> {
        inside("day.minutes", self.minutes.filter(|minutes| *minutes != 0.0), 5.0, 180.0)
            .map_err(|why| format!("{why}, nor 0 for no plan"))
    }
}

impl UserSettings {
    /// What a player left of the latest plan.
    #[must_use]
    pub fn left_over(&self, player: Option<PlayerId>) -> Option<&LeftOver> {
        let id = player.map(|player| player.to_string());
        self.day.left.iter().find(|left| left.player == id)
    }

    /// Keeps what was left of the plan of `day` in the place of what was left before; nothing where all of it was done.
    pub fn leave_over(&mut self, player: Option<PlayerId>, day: i32, new: Option<String>, phrases: bool) {
        let player = player.map(|player| player.to_string());
        self.day.left.retain(|left| left.player != player);
        if new.is_some() || phrases {
            self.day.left.push(LeftOver { player, date: date_of(day), new, phrases });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
