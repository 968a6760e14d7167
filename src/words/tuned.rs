//! What a player does about an instrument that stands sharp or flat as a whole.

use crate::music::{Instrument, Sounding};
use crate::units::Cents;

/// What players of such an instrument do where all notes lie so many cents off (common practice); `None` for a voice and for keys.
#[must_use]
pub fn advice(instrument: &Instrument, cents: Cents) -> Option<String> {
    let way = if cents.0 > 0.0 { "out" } else { "in" };
    match instrument.sounding {
        Sounding::Lips => Some(format!("move the tuning slide {way} a little")),
        Sounding::Reed => Some(format!("move the mouthpiece, reed or barrel {way} a little")),
        Sounding::Edge => Some(format!("move the head joint {way} a little")),
        Sounding::Bow | Sounding::Plucked => Some("tune the strings again".to_owned()),
        Sounding::Voice | Sounding::Keys => None,
    }
}
