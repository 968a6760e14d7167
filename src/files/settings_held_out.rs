//! Keys held out of practice: whose, on which instrument, until when.

use serde::{Deserialize, Serialize};

use crate::coach::HeldOut;
use crate::files::settings_errors::one_of;
use crate::files::today::date_of;
use crate::music::ConcertKey;
use crate::report::day_of;
use crate::session::PlayerId;

/// One key, as the settings hold it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeldOutKey {
    /// The key in concert pitch, such as Eb.
    pub concert_key: String,
    /// The first day on which the key is practised again, such as 2026-12-27.
    pub until: String,
    /// Id of the instrument.
    pub instrument: String,
    /// Id of the player; left out on a machine that knows no players.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub player: Option<String>,
    /// Keys that this program does not know, kept as they are.
    #[serde(flatten)]
    pub rest: toml::Table,
}

impl HeldOutKey {
    /// A key that a player holds out on an instrument.
    pub(super) fn new(held: &HeldOut, player: Option<PlayerId>, instrument: &str) -> Self {
        Self {
            concert_key: held.key.name().to_owned(),
            until: date_of(held.until),
            instrument: instrument.to_owned(),
            player: player.map(|id| id.to_string()),
            rest: toml::Table::new(),
        }
    }

    /// The held-out key as the coach knows it; `None` where its text names no key or no date.
    pub(super) fn to_held_out(&self) -> Option<HeldOut> {
        Some(HeldOut { key: key(&self.concert_key)?, until: day_of(&self.until)? })
    }

    /// Whether this player holds the key out on this instrument.
    pub(super) fn is_of(&self, player: Option<PlayerId>, instrument: &str) -> bool {
        self.instrument == instrument && self.player == player.map(|id| id.to_string())
    }
}

fn key(name: &str) -> Option<ConcertKey> {
    ConcertKey::FIFTHS.into_iter().find(|key| key.name() == name)
}

/// Checks the keys of a settings file; the error says what is wrong.
pub(super) fn check(keys: &[HeldOutKey]) -> Result<(), String> {
    for (n, it) in keys.iter().enumerate() {
        if key(&it.concert_key).is_none() {
            let at = one_of("held_out", n, "concert_key");
            return Err(format!("{at} = {:?} is none of C G D A E B F# Db Ab Eb Bb F", it.concert_key));
        }
        if day_of(&it.until).is_none() {
            let at = one_of("held_out", n, "until");
            return Err(format!("{at} = {:?} is no date such as 2026-12-27", it.until));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_or_a_date_that_is_none_is_named() {
        let it = |concert_key: &str, until: &str| HeldOutKey {
            concert_key: concert_key.to_owned(),
            until: until.to_owned(),
            instrument: "trumpet".to_owned(),
            player: None,
            rest: toml::Table::new(),
        };
        assert_eq!(check(&[it("Ab", "2026-12-27")]), Ok(()));
        assert!(check(&[it("H", "2026-12-27")]).unwrap_err().contains("\"H\""));
        assert!(check(&[it("Ab", "2026-02-30")]).unwrap_err().contains("2026-02-30"));
    }
}
