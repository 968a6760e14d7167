//! How the intonation of a run goes with the height of its notes: a scale stretched over its whole compass, one that is stretched from
//! some note on, or one that stands otherwise from some note up, as at the break between two registers.

use crate::music::Concert;
use crate::report::tuning::PitchRow;
use crate::units::{Cents, median};

/// Smallest number of pitches that tell how intonation goes with height.
const PITCHES: usize = 7;
/// Smallest number of pitches on either side of a corner.
const BESIDE: usize = 3;
/// A shape is taken where it leaves no more than this share of what is left without one.
const BETTER: f64 = 0.5;
/// A shape is taken instead of a simpler one where that leaves this many times as much, or more.
const CLEARLY: f64 = 1.3;
/// Two notes a half step apart say nothing of a shape that lies between them: the distance from which it is told, in cents.
const FELT: f64 = 10.0;

/// How intonation goes with height. Cents are those of the table, so the general offset is out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OverPitch {
    /// Evenly from the lowest note to the highest.
    Even {
        /// The lowest note, and how it lies.
        low: (Concert, Cents),
        /// The highest note, and how it lies.
        high: (Concert, Cents),
    },
    /// The notes up to `from` lie alike, and those above it ever farther.
    Above {
        /// The note from which it begins.
        from: Concert,
        /// How far the highest note lies above the notes that lie alike.
        by: Cents,
        /// The highest note.
        until: Concert,
        /// How the notes lie that lie alike.
        alike: Cents,
    },
    /// The notes down to `from` lie alike, and those below it ever farther.
    Below {
        /// The note from which it begins.
        from: Concert,
        /// How far the lowest note lies above the notes that lie alike.
        by: Cents,
        /// The lowest note.
        until: Concert,
        /// How the notes lie that lie alike.
        alike: Cents,
    },
    /// All notes from this one up lie so far above those below it.
    Break {
        /// The lowest of the upper notes.
        from: Concert,
        /// How far they lie above the notes below.
        by: Cents,
        /// How the lower notes lie.
        below: Cents,
    },
}

/// A shape, how much it leaves (the sum of distances, signs aside), and what it says of a pitch.
struct HeightFit {
    told: OverPitch,
    left: f64,
}

impl OverPitch {
    /// The shape that these rows have, lowest first; `None` where they have none.
    pub(super) fn of(rows: &[PitchRow]) -> Option<Self> {
        if rows.len() < PITCHES {
            return None;
        }
        let points: Vec<(f64, f64)> = rows.iter().map(|row| (f64::from(row.pitch.0), row.all.0)).collect();
        let without = scatter(&points.iter().map(|point| point.1).collect::<Vec<_>>());
        let corners = || BESIDE..=points.len() - BESIDE;
        let least = |shapes: &mut dyn Iterator<Item = HeightFit>| shapes.min_by(|a, b| a.left.total_cmp(&b.left));
        let even = even(&points)?;
        let broken = least(&mut corners().filter_map(|corner| broken(&points, corner)))?;
        let bent = least(&mut corners().flat_map(|corner| [above(&points, corner), below(&points, corner)]).flatten())?;
        let best =
            [broken, bent].into_iter().fold(even, |best, one| if CLEARLY * one.left < best.left { one } else { best });
        (best.left <= BETTER * without && best.told.extent().0 >= FELT).then_some(best.told)
    }

    /// How far the notes of this shape lie apart.
    pub(super) fn extent(self) -> Cents {
        match self {
            Self::Even { low, high } => (high.1 - low.1).abs(),
            Self::Above { by, .. } | Self::Below { by, .. } | Self::Break { by, .. } => by.abs(),
        }
    }

    /// The cents that the shape gives to a pitch.
    pub(super) fn at(self, pitch: Concert) -> f64 {
        let share =
            |from: Concert, until: Concert| (f64::from(pitch.0 - from.0) / f64::from(until.0 - from.0)).clamp(0.0, 1.0);
        match self {
            Self::Even { low, high } => low.1.0 + (high.1 - low.1).0 * share(low.0, high.0),
            Self::Above { from, by, until, alike } | Self::Below { from, by, until, alike } => {
                alike.0 + by.0 * share(from, until)
            }
            Self::Break { from, by, below } => below.0 + if pitch < from { 0.0 } else { by.0 },
        }
    }
}

fn named(point: (f64, f64)) -> Concert {
    Concert(point.0 as i32)
}

/// A straight line through all pitches: the median slope between every two.
fn even(points: &[(f64, f64)]) -> Option<HeightFit> {
    let slope = slope(points, points)?;
    let level = median(&points.iter().map(|(pitch, cents)| cents - slope * pitch).collect::<Vec<_>>())?;
    let at = |point: (f64, f64)| (named(point), Cents(level + slope * point.0));
    let (low, high) = (at(*points.first()?), at(*points.last()?));
    let left = points.iter().map(|(pitch, cents)| (cents - level - slope * pitch).abs()).sum();
    Some(HeightFit { told: OverPitch::Even { low, high }, left })
}

/// The median slope from points to others.
fn slope(from: &[(f64, f64)], until: &[(f64, f64)]) -> Option<f64> {
    let slopes = from.iter().flat_map(|one| {
        until.iter().filter(|other| other.0 > one.0).map(|other| (other.1 - one.1) / (other.0 - one.0))
    });
    median(&slopes.collect::<Vec<_>>())
}

/// One level below the corner and another from it up.
fn broken(points: &[(f64, f64)], corner: usize) -> Option<HeightFit> {
    let cents = |part: &[(f64, f64)]| part.iter().map(|point| point.1).collect::<Vec<_>>();
    let (low, high) = (cents(&points[..corner]), cents(&points[corner..]));
    let (below, from) = (median(&low)?, named(points[corner]));
    let told = OverPitch::Break { from, by: Cents(median(&high)? - below), below: Cents(below) };
    Some(HeightFit { told, left: scatter(&low) + scatter(&high) })
}

/// One level up to the corner and a straight line above it.
fn above(points: &[(f64, f64)], corner: usize) -> Option<HeightFit> {
    let level = median(&points[..corner].iter().map(|point| point.1).collect::<Vec<_>>())?;
    let (from, highest) = (points[corner - 1], *points.last()?);
    let by = Cents((highest.0 - from.0) * slope(&[(from.0, level)], &points[corner..])?);
    let told = OverPitch::Above { from: named(from), by, until: named(highest), alike: Cents(level) };
    Some(HeightFit { told, left: left(points, told) })
}

/// One level down to the corner and a straight line below it.
fn below(points: &[(f64, f64)], corner: usize) -> Option<HeightFit> {
    let level = median(&points[corner..].iter().map(|point| point.1).collect::<Vec<_>>())?;
    let (from, lowest) = (points[corner], points[0]);
    let by = Cents((lowest.0 - from.0) * slope(&points[..corner], &[(from.0, level)])?);
    let told = OverPitch::Below { from: named(from), by, until: named(lowest), alike: Cents(level) };
    Some(HeightFit { told, left: left(points, told) })
}

fn left(points: &[(f64, f64)], told: OverPitch) -> f64 {
    points.iter().map(|point| (point.1 - told.at(named(*point))).abs()).sum()
}

/// Sum of the distances of these cents from their median, signs aside.
fn scatter(cents: &[f64]) -> f64 {
    let middle = median(cents).unwrap_or(0.0);
    cents.iter().map(|cents| (cents - middle).abs()).sum()
}
