//! The places of the notes of a line that a player swings in a way of their own.

use crate::pattern::Line;

/// A swing counts as the player's own where it brings the distance of the onsets from their pulse below this share of what it was.
pub(super) const SWINGS: f64 = 0.6;

/// The place of a note, in beats, if the player swings in a way of their own: off-beats are moved from where the line has them to `played`
/// long to short.
pub(super) fn own_swing(line: &Line, played: Option<f64>) -> impl Fn(f64) -> f64 {
    let shares = line.long_to_short().zip(played).map(|(asked, played)| (share(asked), share(played)));
    move |at: f64| match shares {
        Some((asked, played)) if (at - at.floor() - asked).abs() < 1e-3 => at.floor() + played,
        _ => at,
    }
}

/// The share of a beat that the long eighth of two takes, from the ratio of long to short, which is held between .5 and 4.
fn share(ratio: f64) -> f64 {
    let ratio = ratio.clamp(0.5, 4.0);
    ratio / (1.0 + ratio)
}
