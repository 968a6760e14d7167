//! What each step of an alignment costs. One missed note is about 1; the numbers were set by hand so that
//! - a wrong note costs less than a missed note and an extra one, but a stray taken for a wrong note costs more than that stray
//!   unasked beside a missed note;
//! - a note in another octave costs less than a wrong one;
//! - a merged or split note costs far less than a missed one;
//! - two wrong notes cost more than a whole answer in another key, one costs about as much.

use super::clock::PulseFit;
use super::performed::PerformedNote;

/// How a heard note stands to the expected one, after the shift and the tuning offset were taken out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Distance {
    Right,
    Octave,
    Wrong,
}

/// Cost of an expected note for which nothing sounded.
pub(super) const MISSED: f64 = 0.80;
/// Extra cost of the first of a row of missed notes, since two holes are less likely than one. A line that breaks off does not pay
/// it, since breaking off is likelier than either.
pub(super) const GAP_OPENS: f64 = 0.14;
/// Cost of a further piece of a note that answers.
pub(super) const PIECE: f64 = 0.10;
/// A second onset on one place begins a note of its own where it comes later than this after the onset before it: a share of the distance
/// to the next place.
pub(super) const ALONE: f64 = 0.72;
/// Cost of each further note in a row of equal notes that was held as one.
pub(super) const MERGED: f64 = 0.18;
/// A merged note must last beyond the place of the last note it stands for by this share of the distance from the note before that
/// place.
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

/// The cost of taking a heard note for an expected one.
pub(super) fn matched(note: &PerformedNote, half_steps: f64, right: f64) -> f64 {
    match kind(half_steps, right) {
        Distance::Right => 0.08 * half_steps.abs() + if note.stray { 0.12 } else { 0.0 },
        Distance::Octave => 0.60,
        Distance::Wrong => (0.82 + 0.03 * half_steps.abs()).min(0.95) + if note.stray { 0.55 } else { 0.0 },
    }
}

/// The cost of so many notes in a row that a slipped hand played, all at one distance from those asked: one mistake, and a little for each note.
pub(super) fn slipped(notes: usize) -> f64 {
    0.90 + 0.04 * notes as f64
}

/// The cost of a match off the clock. It grows up to .75 of a beat and no further, so that free time, swing and closed-up gaps cost
/// little.
pub(super) fn off_the_clock(clock: Option<PulseFit>, note: &PerformedNote, beats: f64) -> f64 {
    clock.map_or(0.0, |fit| 0.35 * ((note.onset_s - fit.at(beats)).abs() / (0.75 * fit.beat_s)).min(1.0))
}

/// The cost of a heard note that nobody asked for.
pub(super) fn unasked(note: &PerformedNote) -> f64 {
    if note.stray { 0.22 } else { 0.80 }
}

/// The cost of leaving out the first `count` heard notes as an earlier attempt.
pub(super) fn earlier(count: usize) -> f64 {
    0.85 + 0.10 * count as f64
}

/// The cost of a clock at another pace than the asked one: .1 for each doubling or halving of the pace. Equal ratios cost the same, as
/// tempi are felt (common practice).
pub(super) fn other_pace(ratio: f64) -> f64 {
    0.10 * ratio.log2().abs()
}

/// Cost where there are notes enough for a clock, but no clock within reason goes through them.
pub(super) const NO_PACE: f64 = 0.45;

/// The cost of a whole answer moved by this many half steps. Octaves cost nothing: an answer an octave off is read like one in the
/// asked octave, and between equal costs the nearer octave wins.
pub(super) fn shifted(half_steps: i32) -> f64 {
    if half_steps % 12 == 0 { 0.0 } else { 0.90 }
}
