use crate::music::{Concert, Range};
use crate::simulated::chance::PlayerDraws;
use crate::simulated::intent::PlayedNote;
use crate::units::Seconds;

/// A player who counts the taps comes in later by this time.
pub(super) const LATER: Seconds = Seconds(0.03);
/// A player who counts the taps makes faults as often as if the key were known less by this, on the scale of 0 to 1.
pub(super) const ELSEWHERE: f64 = 0.8;
/// Share of numbers that are wrong by one.
const MISCOUNTED: f64 = 0.15;
/// The time from one note of a number to the next, and how long each sounds, in seconds.
const APART: f64 = 0.45;
const SOUNDS: f64 = 0.22;
/// How long a note is held so that the band begins again, in seconds.
const HOLDS: f64 = 2.0;

/// The number that the player says where `sounded` taps sounded.
pub(super) fn counted(sounded: u32, chance: &mut PlayerDraws) -> u32 {
    match chance.happens(MISCOUNTED) {
        true if chance.happens(0.5) => sounded.saturating_sub(1).max(1),
        true => sounded + 1,
        false => sounded,
    }
}

/// A note in the middle of what the player reaches, as it is held so that the band begins again.
pub(super) fn held(range: Range) -> PlayedNote {
    let pitch = Concert((range.low.0 + range.high.0) / 2);
    PlayedNote { at: 0.0, length: HOLDS, pitch, cents: 0.0, slurred: false, accent_db: 0.0, meant: None }
}

/// A number in notes of one pitch, in the middle of what the player reaches.
pub(super) fn numbered(said: u32, range: Range) -> Vec<PlayedNote> {
    let pitch = Concert((range.low.0 + range.high.0) / 2);
    let note = |n: u32| PlayedNote {
        at: f64::from(n) * APART,
        length: SOUNDS,
        pitch,
        cents: 0.0,
        slurred: false,
        accent_db: 0.0,
        meant: None,
    };
    (0..said).map(note).collect()
}
