//! What each step of an alignment costs. One missed note is about 1; the numbers were set by hand so that
//! - a wrong note costs less than a missed and an extra one, but more than an artefact whose true note is elsewhere saves;
//! - a note in another octave costs less than a wrong one;
//! - a merged or split note costs far less than a missed one;
//! - two wrong notes cost more than a whole answer in another key, one costs less.

use super::clock::PulseFit;
use super::performed::PerformedNote;

/// How a heard note stands to the expected one, after the shift and the tuning offset were taken out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Distance {
    Right,
    Octave,
    Wrong,
}

/// Nothing was sounded for an expected note.
pub(super) const MISSED: f64 = 0.90;
/// The first of a row of missed notes: two holes are less likely than one, and breaking off is likelier than either.
pub(super) const GAP_OPENS: f64 = 0.04;
/// A further piece of a note that answers.
pub(super) const PIECE: f64 = 0.10;
/// A second onset this late, in distances to the next place, begins a note of its own.
pub(super) const ALONE: f64 = 0.72;
/// One more note of a row of equal ones held together.
pub(super) const MERGED: f64 = 0.18;
/// A merged note must last this much longer than the place of the last note it stands for, in distances of the two.
pub(super) const HELD_OVER: f64 = 0.25;

/// The kind of a distance in half steps; `right` is how far a right note may lie from its pitch.
pub(super) fn kind(half_steps: f64, right: f64) -> Distance {
    let size = half_steps.abs();
    if size < right {
        Distance::Right
    } else if size > 6.0 && (size - 12.0 * (size / 12.0).round()).abs() < 0.5 {
        Distance::Octave
    } else {
        Distance::Wrong
    }
}

/// Taking a heard note for an expected one.
pub(super) fn matched(note: &PerformedNote, half_steps: f64, right: f64) -> f64 {
    match kind(half_steps, right) {
        Distance::Right => 0.08 * half_steps.abs() + if note.stray { 0.12 } else { 0.0 },
        Distance::Octave => 0.60,
        Distance::Wrong => (0.82 + 0.03 * half_steps.abs()).min(0.95) + if note.stray { 0.55 } else { 0.0 },
    }
}

/// How far from the clock a match stands; it saturates, so that free time, swing and closed-up gaps cost little.
pub(super) fn off_the_clock(clock: Option<PulseFit>, note: &PerformedNote, beats: f64) -> f64 {
    clock.map_or(0.0, |fit| 0.35 * ((note.onset_s - fit.at(beats)).abs() / (0.75 * fit.beat_s)).min(1.0))
}

/// A heard note that nobody asked for.
pub(super) fn unasked(note: &PerformedNote) -> f64 {
    if note.stray { 0.22 } else { 0.80 }
}

/// Leaving out the first `count` heard notes as an earlier attempt.
pub(super) fn earlier(count: usize) -> f64 {
    0.85 + 0.10 * count as f64
}

/// The cost of a clock at another pace than the asked one: .1 an octave of tempo, up or down. Equal ratios cost the same, as tempi
/// are felt (common practice).
pub(super) fn other_pace(ratio: f64) -> f64 {
    0.10 * ratio.log2().abs()
}

/// Notes enough for a clock, but no clock within reason goes through them.
pub(super) const NO_PACE: f64 = 0.45;

/// A whole answer moved by this many half steps. Octaves cost nothing, so that an answer is read there as it would be where it
/// was asked: the notes decide, and between equals the nearer octave.
pub(super) fn shifted(half_steps: i32) -> f64 {
    if half_steps % 12 == 0 { 0.0 } else { 0.90 }
}
