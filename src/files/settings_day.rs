//! The plan of the day: how many minutes, which lesson comes before it, and what was left over.

use serde::{Deserialize, Serialize};

use crate::files::settings_rests::inside;

/// What the settings hold of a day's plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct DaySettings {
    /// Minutes of practice a day, 5 to 180, or 0 for no plan; unset until the player was asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// The file of the lesson that was begun last.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lesson: Option<String>,
    /// What was left over of each player's latest plan.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub left: Vec<LeftOver>,
    /// Keys that this program does not know, kept as they are.
    #[serde(flatten)]
    pub rest: toml::Table,
}

/// What was left over of a player's plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct LeftOver {
    /// Id of the player; left out on a machine that knows no players.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub player: Option<String>,
    /// The date of the plan, such as 2026-11-29.
    pub date: String,
    /// Id of the new pattern that was not answered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new: Option<String>,
    /// Whether the joined phrases were not played, or not to their end.
    #[serde(default)]
    pub phrases: bool,
    /// Keys that this program does not know, kept as they are.
    #[serde(flatten)]
    pub rest: toml::Table,
}

impl DaySettings {
    /// Whether nothing is set.
    pub(super) fn is_usual(&self) -> bool {
        *self == Self::default()
    }

    /// Checks the values; the error says which value is wrong.
    pub(super) fn check(&self) -> Result<(), String> {
        inside("day.minutes", self.minutes.filter(|minutes| *minutes != 0.0), 5.0, 180.0)
            .map_err(|why| format!("{why}, nor 0 for no plan"))
    }
}
