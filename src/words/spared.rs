//! What is said of a turn away from the instrument.

use crate::coach::SparedTurn;
use crate::music::Sounding;

/// What is known of such turns, said once in a sitting.
pub const KNOWN: &str = "Practice in the mind and on the instrument together helped accuracy and expression (Frontiers in Psychology \
                         12:757052, 2021); whether it makes a reflex is not known.";

/// What rests in such a turn, what does not happen, and how it is left.
#[must_use]
pub const fn spares(sounding: Sounding) -> &'static str {
    match sounding {
        Sounding::Lips | Sounding::Reed | Sounding::Edge => "lips rest; nothing is judged; n leaves it",
        Sounding::Voice | Sounding::Bow | Sounding::Plucked | Sounding::Keys => "nothing is judged; n leaves it",
    }
}

/// What is to be done, as a heading.
#[must_use]
pub const fn turn(turn: SparedTurn) -> &'static str {
    match turn {
        SparedTurn::Sing => "sing it",
        SparedTurn::Finger => "finger it",
    }
}

/// What is to be done, in a sentence: before the answer is due, or then.
#[must_use]
pub const fn how(turn: SparedTurn, due: bool) -> &'static str {
    match (turn, due) {
        (SparedTurn::Sing, false) => "listen, then sing it in time",
        (SparedTurn::Finger, false) => "listen, then finger it in time, in silence",
        (SparedTurn::Sing, true) => "now sing",
        (SparedTurn::Finger, true) => "now, in silence",
    }
}
