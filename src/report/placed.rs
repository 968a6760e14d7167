//! The notes of a run, each with its name and its distance from it.

use crate::music::Concert;
use crate::notes::HeardNote;
use crate::report::moved::NoteMoved;
use crate::units::median;

/// Smallest number of notes whose common offset is tested.
const TESTED: usize = 6;
/// The bound of that test: n R^2 above 3 comes by chance one time in twenty (Rayleigh's test of a circle; from memory).
const COMMON: f64 = 3.0;

/// A note of a run: when it began in seconds, from where it was reached, its pitch, and how far off it is in cents.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed {
    /// The place of the note among those heard, from 0.
    pub n: usize,
    /// When it began, in seconds.
    pub at: f64,
    /// Direction from which the note was reached: below zero from above, above zero from below, zero for a first note and a
    /// repeated one.
    pub way: f64,
    /// Its pitch, in half steps.
    pub pitch: i32,
    /// How far it lies from that pitch, in cents.
    pub off: f64,
    /// How it moved while it sounded, where that is known.
    pub moved: Option<NoteMoved>,
}

/// What the pitches (in cents) have in common, from -50 to 50: the middle of their places on a circle of a half step, so that
/// 45 cents sharp and 45 flat are neighbours (circular statistics: Mardia 1972, from memory). Where they have nothing in
/// common it is the middle of their distances from the nearest pitch.
pub(super) fn common(cents: &[f64]) -> Option<f64> {
    let turn = std::f64::consts::TAU / 100.0;
    let (sine, cosine) =
        cents.iter().fold((0.0, 0.0), |sum, cents| (sum.0 + (cents * turn).sin(), sum.1 + (cents * turn).cos()));
    let count = cents.len() as f64;
    if cents.len() >= TESTED && (sine * sine + cosine * cosine) / count < COMMON {
        return median(&cents.iter().map(|cents| beside(*cents)).collect::<Vec<_>>());
    }
    let mean = f64::atan2(sine, cosine) / turn;
    let rest = median(&cents.iter().map(|cents| beside(cents - mean)).collect::<Vec<_>>())?;
    Some(beside(mean + rest))
}

/// The distance from the nearest pitch, in cents.
fn beside(cents: f64) -> f64 {
    cents - 100.0 * (cents / 100.0).round()
}

/// How the notes of a run get their names.
pub(super) enum Naming<'a> {
    /// Each by the nearest pitch, what all have in common taken out, and so many half steps higher.
    Nearest { higher: i32 },
    /// Each by a name that was told, in the order of the notes.
    Told(&'a [Concert]),
}

impl Naming<'_> {
    /// Whether the notes may as well be those a half step away.
    pub const fn may_be_others(&self) -> bool {
        matches!(self, Self::Nearest { higher: 0 })
    }
}

/// The notes with their names, what all have in common taken out before they are named.
pub(super) fn placed(notes: &[(usize, &HeardNote)], moved: &[NoteMoved], common: f64, by: &Naming<'_>) -> Vec<Placed> {
    let mut before = None;
    let placed = notes.iter().map(|(n, note)| {
        let nearest = |higher: i32| (note.pitch.0 - common / 100.0 + f64::from(higher)).round();
        let pitch = match by {
            Naming::Nearest { higher } => nearest(*higher),
            Naming::Told(names) => names.get(*n).map_or_else(|| nearest(0), |name| f64::from(name.0)),
        };
        let way = before.replace(pitch).map_or(0.0, |before: f64| match pitch - before {
            step if step > 0.0 => 1.0,
            step if step < 0.0 => -1.0,
            _ => 0.0,
        });
        let moved = moved.iter().find(|moved| moved.number == note.number).copied();
        Placed { n: *n, at: note.onset.0, way, pitch: pitch as i32, off: 100.0 * (note.pitch.0 - pitch), moved }
    });
    placed.collect()
}
