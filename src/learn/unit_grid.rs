//! A grid of equal units under the onsets of a line, and how far the notes lie from its places.

use crate::units::median;

/// How far a note may lie from its place, counted from the note before, as a share of the unit: a twentieth of a second for an eighth
/// at quarter = 120. The nearest triplet lies a third of an eighth away, so a note within a fifth is in no doubt.
pub const ALLOWED: f64 = 0.2;
/// The shortest distance between two notes is the guessed unit where the distances lie no further than these shares of it from whole numbers
/// of it, the root mean square and the furthest, and where no part of it fits all of them: a hand that plays without a click strays so far.
const BY_HAND: [f64; 2] = [0.22, 0.48];
/// A note that strays alone lies less than this share of the unit from its place: nearer to half a unit it is another note value.
const ALONE: f64 = 0.42;
/// A line has at least so many distances for each note of it that strays alone.
const FOR_EACH: usize = 6;

/// A grid of equal units laid under the onsets.
pub(super) struct Grid {
    /// Length of a unit, seconds.
    pub unit_s: f64,
    /// Units from each note to the next.
    pub steps: Vec<i64>,
    /// How far each note but the first comes after its place (before it: less than 0), counted from the note before, seconds.
    off_s: Vec<f64>,
}

impl Grid {
    /// A grid without a step: the line is a single note.
    pub(super) const fn of_one_note(unit_s: f64) -> Self {
        Self { unit_s, steps: Vec::new(), off_s: Vec::new() }
    }

    /// The furthest that a note lies from its place, counted from the note before, seconds.
    pub(super) fn moved_s(&self) -> f64 {
        self.off_s.iter().fold(0.0, |most, off| most.max(off.abs()))
    }

    /// The number of the note that lies furthest from its place, counted from 1. Of two distances in a row of which one is as much too
    /// long as the other is too short, the note between them strays.
    pub(super) fn furthest(&self) -> usize {
        let most = self.moved_s();
        let at = self.off_s.iter().position(|off| off.abs() >= most).unwrap_or(0);
        let made_up = |n: usize| n.checked_sub(1).is_some_and(|before| self.makes_up(before) && self.strays(before));
        if made_up(at) { at + 1 } else { at + 2 }
    }

    /// How far the furthest note lies from its place, as a share of the unit.
    pub(super) fn misfit(&self) -> f64 {
        self.moved_s() / self.unit_s
    }

    /// Whether every note lies within [`ALLOWED`] of its place.
    pub(super) fn even(&self) -> bool {
        self.misfit() <= ALLOWED
    }

    /// Whether somebody who plays by hand may have meant it.
    pub(super) fn by_hand(&self) -> bool {
        let squares: f64 = self.off_s.iter().map(|off| off * off).sum();
        let stray_s = (squares / self.off_s.len().max(1) as f64).sqrt();
        stray_s <= BY_HAND[0] * self.unit_s && self.moved_s() <= BY_HAND[1] * self.unit_s
    }

    /// Whether most notes follow each other in single units, and every note lies near its place but for one in [`FOR_EACH`] at the most:
    /// these come early or late alone, so that the note after each is in time again, or after a wait.
    pub(super) fn strays_alone(&self) -> bool {
        let (mut n, mut alone) = (0, 0);
        while n < self.off_s.len() {
            if self.strays(n) {
                let (last, waits) = (n + 1 == self.off_s.len(), self.steps[n] > 1);
                if self.off_s[n].abs() > ALONE * self.unit_s || !(last || waits || self.makes_up(n)) {
                    return false;
                }
                (n, alone) = (n + 1 + usize::from(self.makes_up(n)), alone + 1);
            } else {
                n += 1;
            }
        }
        let single = self.steps.iter().filter(|step| **step == 1).count();
        alone * FOR_EACH <= self.off_s.len() && 2 * single > self.steps.len()
    }

    fn strays(&self, n: usize) -> bool {
        self.off_s[n].abs() > ALLOWED * self.unit_s
    }

    /// Whether the distance after this one makes up for what it is too long or too short.
    fn makes_up(&self, n: usize) -> bool {
        self.off_s.get(n + 1).is_some_and(|next| (self.off_s[n] + next).abs() <= ALLOWED * self.unit_s)
    }
}

/// Lays notes on a grid whose unit is about `unit_s` seconds; the unit of the grid is the one that was played.
pub(super) fn laid(gaps: &[f64], unit_s: f64) -> Grid {
    let steps = |unit_s: f64| gaps.iter().map(|gap| (gap / unit_s).round().max(1.0)).collect::<Vec<f64>>();
    let measured = |steps: &[f64]| {
        let units: Vec<f64> = gaps.iter().zip(steps).map(|(gap, step)| gap / step).collect();
        median(&units).unwrap_or(unit_s)
    };
    // The unit is measured twice, because the number of units in each gap may change with the first measurement.
    let unit_s = measured(&steps(measured(&steps(unit_s))));
    kept(gaps, unit_s)
}

/// Lays notes on a grid whose unit is exactly `unit_s` seconds.
pub(super) fn kept(gaps: &[f64], unit_s: f64) -> Grid {
    let steps: Vec<f64> = gaps.iter().map(|gap| (gap / unit_s).round().max(1.0)).collect();
    Grid {
        unit_s,
        off_s: gaps.iter().zip(&steps).map(|(gap, step)| gap - step * unit_s).collect(),
        steps: steps.iter().map(|step| *step as i64).collect(),
    }
}
