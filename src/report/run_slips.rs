//! Where a chromatic run does not go on by half steps: a note twice, one left out, or one in place of another.

use crate::music::Concert;
use crate::report::placed::Placed;

/// Smallest number of notes of a chromatic run.
const NOTES: usize = 10;
/// A run is chromatic where so large a share of its steps are half steps.
const CHROMATIC: f64 = 0.8;

/// A place at which a chromatic run does not go on by a half step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RunSlip {
    /// This note came twice in a row.
    Twice(Concert),
    /// This note was left out.
    LeftOut(Concert),
    /// The first of these came in place of the second.
    InPlace(Concert, Concert),
}

/// The slips of a run, each with whether it lies on a way up; none where the run is not chromatic, or a note of it was unclear. The highest
/// and the lowest note may come twice, where the run turns.
pub(super) fn slips(placed: &[Placed]) -> Vec<(RunSlip, bool)> {
    let steps: Vec<i32> = placed.windows(2).map(|pair| pair[1].pitch - pair[0].pitch).collect();
    let half_steps = steps.iter().filter(|step| step.abs() == 1).count();
    let whole = placed.iter().enumerate().all(|(n, note)| note.n == n);
    if placed.len() < NOTES || !whole || (half_steps as f64) < CHROMATIC * steps.len() as f64 {
        return Vec::new();
    }
    let pitches = || placed.iter().map(|note| note.pitch);
    let turns = |pitch: i32| pitches().max() == Some(pitch) || pitches().min() == Some(pitch);
    let mut found = Vec::new();
    let mut n = 0;
    while n < steps.len() {
        let (from, until) = (placed[n].pitch, placed[n + 1].pitch);
        let next = steps.get(n + 1).copied();
        let around = if n > 0 { steps[n - 1] } else { next.unwrap_or(1) };
        let slip = match (steps[n], next) {
            (2 | -2, Some(0)) | (0, Some(2 | -2)) if !turns(until) => {
                // Three notes that should have been three half steps: the one in the middle is another.
                let up = placed[n + 2].pitch > from;
                n += 1;
                let asked = (from + placed[n + 1].pitch) / 2;
                found.push((RunSlip::InPlace(Concert(placed[n].pitch), Concert(asked)), up));
                None
            }
            (2, _) | (-2, _) => Some((RunSlip::LeftOut(Concert((from + until) / 2)), until > from)),
            (0, _) if !turns(until) => Some((RunSlip::Twice(Concert(until)), around > 0)),
            _ => None,
        };
        found.extend(slip);
        n += 1;
    }
    found
}
