//! How the pitch of a run moved from its first note to its last: in a straight line (a drift), or from one note on (a step).

use std::collections::BTreeMap;

use crate::music::Concert;
use crate::report::placed::Placed;
use crate::report::trend::{Doubt, Drift, Slope};
use crate::units::{Cents, median, rank};

/// Smallest number of notes for a drift or a step.
const DRIFTS: usize = 8;
/// Largest number of notes that are compared; more are thinned evenly, because a line through them compares every two.
const COMPARED: usize = 400;
/// Correlation of time and pitch from which a drift cannot be told apart from a scale that is out of tune higher up.
const ONE_WAY: f64 = 0.8;
/// Ratio of two fits below which they fit nearly as well, so that both are named, or the simpler one.
const NEARLY: f64 = 1.15;
/// Smallest number of notes before a step and from it on, and of pitches that came on both sides of it.
const BESIDE: usize = 3;
/// A step leaves no more than this share of what is left without one.
const BETTER: f64 = 0.5;
/// Smallest step that is told, in cents.
const STEPS: f64 = 8.0;

/// A run that rises and falls again does both by more than this, in cents.
const TURNS: f64 = 10.0;
/// It leaves no more than this share of what a straight line leaves, squared.
const BENT: f64 = 0.15;

/// How a run moved over its time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct OverTime {
    /// How far the pitch moved in a straight line, a step taken out; `None` for a run too short to tell.
    pub drift: Option<Drift>,
    /// The place, among the notes that count, of the first note that lies beyond a step.
    pub step: Option<usize>,
    /// Whether the run goes one way only, so that early notes are low ones or high ones.
    pub one_way: bool,
}

impl OverTime {
    /// The line or the step that explains best how these notes lie. Each pitch that comes back is compared with itself, so that a note's
    /// own intonation is neither; where too few come back, all notes are compared with one another.
    pub fn of(placed: &[Placed]) -> Self {
        if placed.len() < DRIFTS {
            return Self::default();
        }
        let thin: Vec<&Placed> = placed.iter().step_by(placed.len().div_ceil(COMPARED)).collect();
        let time = placed[placed.len() - 1].at - placed[0].at;
        let points: Vec<RunPoint> = thin.iter().map(|note| RunPoint::of(note)).collect();
        let groups = by_pitch(&points);
        let alone = groups.is_none();
        let groups = groups.unwrap_or_else(|| vec![points]);
        let one_way = alone && alike(&thin) >= ONE_WAY;
        let step = step(&groups, &thin, alone);
        let moved: Vec<Vec<RunPoint>> = match step {
            Some((from, by)) => {
                groups.iter().map(|notes| notes.iter().map(|it| it.without(from, by)).collect()).collect()
            }
            None => groups,
        };
        let drift = if alone {
            Slope::of(&[moved[0].iter().map(|it| (it.at, it.off)).collect()], 1).map(|slope| {
                let drift = slope.over(time, one_way.then_some(Doubt::OneWay));
                Drift { taken_out: drift.taken_out && !one_way, ..drift }
            })
        } else {
            drift(&moved, time).map(|drift| {
                // A line that climbs in thirds has no way down; where it goes is how high its notes lie.
                let climbs = drift.doubt == Some(Doubt::WayDown) && alike(&thin) >= ONE_WAY;
                if climbs { Drift { doubt: Some(Doubt::OneWay), ..drift } } else { drift }
            })
        };
        // The run may have been thinned: a step is given by its place in all of it.
        let place = |from: usize| placed.iter().position(|note| note.n == from);
        Self { drift, step: step.and_then(|(from, _)| place(from)), one_way }
    }
}

/// A run whose pitch rises and falls again over its time, or falls and rises again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunArch {
    /// The place of the note where it turns among the notes heard, from 0.
    pub turn: usize,
    /// The pitch of that note.
    pub pitch: Concert,
    /// How far it moved up to there, and how far from there to the end.
    pub by: [Cents; 2],
    /// How much it leaves: the sum of distances, signs aside.
    pub(super) left: f64,
}

impl RunArch {
    /// The parabola over time that explains nearly all that a straight line leaves (least squares; the polynomials are orthogonal on the
    /// notes); `None` where there is none, or where it moves too little on one of its sides.
    pub(super) fn of(placed: &[Placed]) -> Option<Self> {
        if placed.len() < DRIFTS {
            return None;
        }
        let count = placed.len() as f64;
        let sum = |of: &dyn Fn(usize) -> f64| (0..placed.len()).map(of).sum::<f64>();
        let (at, off) = (sum(&|n| placed[n].at) / count, sum(&|n| placed[n].off) / count);
        let one = |n: usize| placed[n].at - at;
        let square = sum(&|n| one(n).powi(2));
        let skew = sum(&|n| one(n).powi(3)) / square;
        let two = |n: usize| one(n).powi(2) - square / count - skew * one(n);
        let slope = sum(&|n| placed[n].off * one(n)) / square;
        let bend = sum(&|n| placed[n].off * two(n)) / sum(&|n| two(n).powi(2));
        let arch = |n: usize| off + slope * one(n) + bend * two(n);
        let straight = sum(&|n| (placed[n].off - off - slope * one(n)).powi(2));
        let bent = sum(&|n| (placed[n].off - arch(n)).powi(2));
        let turn = (0..placed.len()).min_by_key(|n| rank(bend.signum() * arch(*n)))?;
        let by = [arch(turn) - arch(0), arch(placed.len() - 1) - arch(turn)];
        let turns = by[0] * by[1] < 0.0 && by[0].abs().min(by[1].abs()) >= TURNS;
        let left = sum(&|n| (placed[n].off - arch(n)).abs());
        let Placed { n, pitch, .. } = placed[turn];
        (turns && bent <= BENT * straight).then_some(Self { turn: n, pitch: Concert(pitch), by: by.map(Cents), left })
    }
}

/// A note as a point: its place, time, way and cents.
#[derive(Clone, Copy)]
struct RunPoint {
    n: usize,
    at: f64,
    way: f64,
    pitch: i32,
    off: f64,
}

impl RunPoint {
    const fn of(note: &Placed) -> Self {
        Self { n: note.n, at: note.at, way: note.way, pitch: note.pitch, off: note.off }
    }

    /// The point with a step taken out.
    fn without(self, from: usize, by: f64) -> Self {
        Self { off: self.off - if self.n < from { 0.0 } else { by }, ..self }
    }
}

/// The notes of each pitch that came back; `None` where these are too few.
fn by_pitch(points: &[RunPoint]) -> Option<Vec<Vec<RunPoint>>> {
    let mut rows: BTreeMap<i32, Vec<RunPoint>> = BTreeMap::new();
    points.iter().for_each(|note| rows.entry(note.pitch).or_default().push(*note));
    rows.retain(|_, notes| notes.len() > 1);
    let many = rows.values().map(Vec::len).sum::<usize>() >= DRIFTS && 2 * rows.len() >= DRIFTS;
    many.then(|| rows.into_values().collect())
}

/// The first note beyond a step, and by how far the later notes lie above the earlier ones; `None` where a line, or the way down as a
/// whole, explains the notes nearly as well, or nothing is to be explained. A way down begins at the turn: a step before it, or after it, that
/// explains as well the notes that come back explains all of them better.
fn step(groups: &[Vec<RunPoint>], notes: &[&Placed], alone: bool) -> Option<(usize, f64)> {
    let all: Vec<(f64, f64)> = groups.iter().flat_map(|notes| centred(notes)).map(|it| (it.at, it.off)).collect();
    let without: f64 = groups.iter().map(|notes| scatter(&offs(notes))).sum();
    let line = Slope::of(&[all], groups.len()).map_or(f64::MAX, |line| line.left);
    let ways: f64 = if alone {
        f64::MAX
    } else {
        by_way(groups).iter().map(|points| scatter(&points.iter().map(|it| it.1).collect::<Vec<_>>())).sum()
    };
    let places = notes.get(BESIDE..notes.len().saturating_sub(BESIDE - 1))?;
    // Where the pitches that come back leave open between which notes the step lies, all notes together tell.
    let level = |first: usize| -> f64 {
        let (before, after): (Vec<&&Placed>, Vec<&&Placed>) = notes.iter().partition(|note| note.n < first);
        let off = |side: Vec<&&Placed>| scatter(&side.iter().map(|note| note.off).collect::<Vec<_>>());
        off(before) + off(after)
    };
    let fits = places.iter().filter_map(|first| {
        let by = apart(groups, first.n, alone)?;
        let without = |notes: &Vec<RunPoint>| notes.iter().map(|it| it.without(first.n, by)).collect::<Vec<_>>();
        let left: f64 = groups.iter().map(|notes| scatter(&offs(&without(notes)))).sum();
        Some((left, first.n, by))
    });
    let (left, from, by) = fits.min_by_key(|(left, from, _)| rank(left + level(*from)))?;
    let whole = |way: f64| scatter(&notes.iter().filter(|it| it.way == way).map(|it| it.off).collect::<Vec<_>>());
    let beside_the_turn = || left <= ways && whole(1.0) + whole(-1.0) > level(from) + 0.5 * by.abs();
    let best = left <= BETTER * without && NEARLY * left < line && (NEARLY * left < ways || beside_the_turn());
    (best && by.abs() >= STEPS).then_some((from, by))
}

/// How far the notes from this place on lie above those before it: the median over the pitches that came on both sides.
fn apart(groups: &[Vec<RunPoint>], from: usize, alone: bool) -> Option<f64> {
    let sides = groups.iter().filter_map(|notes| {
        let (before, after): (Vec<RunPoint>, Vec<RunPoint>) = notes.iter().partition(|it| it.n < from);
        Some(median(&offs(&after))? - median(&offs(&before))?)
    });
    let sides: Vec<f64> = sides.collect();
    if sides.len() < BESIDE && !alone { None } else { median(&sides) }
}

fn offs(notes: &[RunPoint]) -> Vec<f64> {
    notes.iter().map(|note| note.off).collect()
}

/// The notes of one pitch about their own middle.
fn centred(notes: &[RunPoint]) -> Vec<RunPoint> {
    let mean = |of: fn(&RunPoint) -> f64| notes.iter().map(of).sum::<f64>() / notes.len().max(1) as f64;
    let (at, off) = (mean(|note| note.at), mean(|note| note.off));
    notes.iter().map(|note| RunPoint { at: note.at - at, off: note.off - off, ..*note }).collect()
}

/// The notes about the middle of their pitch, those that were reached from above, those that were not reached by a step, and the others.
fn by_way(groups: &[Vec<RunPoint>]) -> [Vec<(f64, f64)>; 3] {
    let mut ways = [Vec::new(), Vec::new(), Vec::new()];
    for note in groups.iter().flat_map(|notes| centred(notes)) {
        ways[(note.way + 1.0) as usize].push((note.at, note.off));
    }
    ways
}

/// The drift of notes that are compared with others of their pitch.
fn drift(groups: &[Vec<RunPoint>], time: f64) -> Option<Drift> {
    let all: Vec<(f64, f64)> = groups.iter().flat_map(|notes| centred(notes)).map(|it| (it.at, it.off)).collect();
    let line = Slope::of(&[all], groups.len())?;
    // Two more fits: a step between the ways without any line, and a line beside such a step.
    let ways = by_way(groups);
    let step: f64 = ways.iter().map(|points| scatter(&points.iter().map(|it| it.1).collect::<Vec<_>>())).sum();
    let beside = Slope::of(&ways, groups.len() + 1);
    match beside {
        Some(beside) if NEARLY * step < line.left => Some(beside.over(time, None)),
        _ => Some(line.over(time, (step < NEARLY * line.left).then_some(Doubt::WayDown))),
    }
}

/// Sum of the distances of these cents from their median, signs aside.
fn scatter(cents: &[f64]) -> f64 {
    let middle = median(cents).unwrap_or(0.0);
    cents.iter().map(|cents| (cents - middle).abs()).sum()
}

/// How closely pitch goes with time, 0 to 1 (Pearson's correlation).
fn alike(notes: &[&Placed]) -> f64 {
    let mean = |of: &dyn Fn(&Placed) -> f64| notes.iter().map(|note| of(note)).sum::<f64>() / notes.len() as f64;
    let (at, pitch) = (mean(&|note| note.at), mean(&|note| f64::from(note.pitch)));
    let times = |a: &dyn Fn(&Placed) -> f64, b: &dyn Fn(&Placed) -> f64| notes.iter().map(|n| a(n) * b(n)).sum::<f64>();
    let (t, p) = (|note: &Placed| note.at - at, |note: &Placed| f64::from(note.pitch) - pitch);
    (times(&t, &p) / (times(&t, &t) * times(&p, &p)).sqrt().max(f64::MIN_POSITIVE)).abs()
}
