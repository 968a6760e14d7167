//! The closed sets of words in the settings file.

use serde::{Deserialize, Serialize};

use crate::music::{Level, NoteNames, ReflexUnit};

/// How far a player has come: it chooses the bands of tuning, and the usual compass where the player set no range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PlayerLevel {
    /// About the first three years.
    Student,
    /// A solid band or section player.
    Working,
    /// A professional player.
    Professional,
}

impl From<PlayerLevel> for Level {
    fn from(level: PlayerLevel) -> Self {
        match level {
            PlayerLevel::Student => Self::Student,
            PlayerLevel::Working => Self::Working,
            PlayerLevel::Professional => Self::Professional,
        }
    }
}

/// The language of note names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Names {
    /// C to B.
    English,
    /// C to H.
    German,
    /// Do to Si.
    DoReMi,
}

/// The unit of reflex times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum ReflexIn {
    /// Seconds.
    #[serde(rename = "s")]
    Seconds,
    /// Milliseconds.
    #[serde(rename = "ms")]
    Milliseconds,
}

impl From<Names> for NoteNames {
    fn from(names: Names) -> Self {
        match names {
            Names::English => Self::English,
            Names::German => Self::German,
            Names::DoReMi => Self::Solfege,
        }
    }
}

impl From<ReflexIn> for ReflexUnit {
    fn from(unit: ReflexIn) -> Self {
        match unit {
            ReflexIn::Seconds => Self::Seconds,
            ReflexIn::Milliseconds => Self::Milliseconds,
        }
    }
}
