use crate::cue::Cue;
use crate::simulated::chance::PlayerDraws;
use crate::simulated::intent::Intent;
use crate::units::Seconds;

/// A player comes in late by at most this many beats; one who would be later guesses another key on the beat instead.
const WAITS: f64 = 0.5;

/// What becomes of an answer whose key was told too late for this player.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Hurried {
    /// There was time enough.
    Ready,
    /// The answer comes late by this time.
    Late(Seconds),
    /// The player guesses another key, or plays nothing where no other key is in reach.
    Guesses,
}

impl Hurried {
    /// What becomes of an answer whose key is known this well, given the warning of its cue. Nothing is drawn for cues without a
    /// warning, so that they are played as ever.
    pub fn of(cue: &Cue, known: f64, chance: &mut PlayerDraws) -> Self {
        let Some(warning) = cue.warning else { return Self::Ready };
        let beat = cue.tempo.lasting(cue.meter.beat()).0;
        let missing = Intent::ready(cue.form, known, chance) - beat * f64::from(warning);
        if missing <= 0.0 {
            Self::Ready
        } else if missing <= WAITS * beat {
            Self::Late(Seconds(missing))
        } else {
            Self::Guesses
        }
    }
}
