use super::clock;
use super::own_swing::{SWINGS, own_swing};
use super::{NoteVerdict, Verdict};
use crate::pattern::Line;
use crate::units::{Seconds, Tempo};

/// Least number of answered notes by which a pace that moves is told from one that is held.
const NOTES: usize = 7;
/// The pace of the last two notes must differ from that of the first two by at least this factor.
const MOVES: f64 = 1.15;
/// The bend of the onsets must be so many times its standard error, squared (a t value of 5.5, which chance gives to one answer in two
/// hundred of seven notes, and to one in six hundred of nine).
const CLEAR: f64 = 30.0;
/// About a pace that moves the onsets lie within this, seconds (root mean square).
const NEAR_S: f64 = 0.034;
/// A pace that changes at a note must lie nearer to the onsets than a pace that is held by so many times what is left, squared, for each note
/// beyond four (chance gives it to at most three answers in a thousand of eight notes that stray by 30 ms, and to none that stray by 15).
const CLEAR_AT_A_NOTE: f64 = 40.0;
/// Least number of distances between notes on either side of that note.
const SIDE: usize = 2;
/// Least number of distances after the note from which a pace moves steadily.
const LATER: usize = 3;
/// A pace that moves from a note on lies nearer to the onsets than one that moves all the way, by this share of what is left, squared.
const PLAIN: f64 = 0.5;
/// What lasts longer by more than this factor from a note on, or less long, is another note value.
const NOTE_VALUE: f64 = 1.75;
/// Eighths that go over to triplets: the factor, and how near to it they are taken for that rather than for a quicker pace.
const TRIPLETS: (f64, f64) = (2.0 / 3.0, 0.04);

/// Ratios of long to short that somebody swings by (common practice: up to some 2.6 to 1); whoever waits longer stumbles.
const SWING: std::ops::RangeInclusive<f64> = 0.8..=2.8;

/// Two distances of onsets that differ by less are alike, seconds.
const ALIKE_S: f64 = 0.001;

/// How the pace of an answer moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PaceMove {
    /// The pace at the beginning.
    pub from: Tempo,
    /// The pace at the end.
    pub to: Tempo,
    /// Where it moved.
    pub at: PaceTurn,
}

/// Where a pace moved; notes by their places in the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaceTurn {
    /// From the first note to the last, steadily.
    Steadily,
    /// From this note on the second pace was held, all at once.
    AtOnce(usize),
    /// The first pace was held up to this note, and from there the pace moved steadily.
    From(usize),
}

/// How the onsets of an answer lie away from the clock fitted through them, by least squares: on a parabola, on two straight lines that
/// meet at a note, or on a straight line that a parabola goes on from.
#[derive(Debug, Clone, Copy)]
struct PaceCurve {
    /// The place about which the terms are taken, beats: the middle of the places, or the note where the lines meet.
    middle: f64,
    /// What kind of line it is, and the note where two of them meet.
    turn: PaceTurn,
    /// Distance from the clock at `middle` (seconds), by how much a beat is longer there than the clock has it (seconds a beat), and half
    /// of how much longer each next beat is; of two straight lines, by how much a beat is longer on the second.
    terms: [f64; 3],
    /// The places of the first two and of the last two answered notes, beats.
    ends: [(f64, f64); 2],
    /// The sum of the squared distances of the onsets from the curve, and their root mean square, seconds.
    squares: f64,
    scatter_s: f64,
}

/// A note that was answered: its place in the line, its place in beats, how late it came by the clock of the answer.
type Point = (usize, f64, f64);

impl PaceCurve {
    /// The curve of an answer whose pace moved; `None` for every other answer.
    fn of(verdict: &Verdict, line: &Line) -> Option<Self> {
        if !verdict.rhythm.is_empty() || !verdict.stood.is_empty() || verdict.attempts > 1 {
            return None;
        }
        let beat_s = 60.0 / verdict.pace?.0;
        let straight = Self::through(verdict, line, &|at| at, beat_s);
        let own = own_swing(line, verdict.swing.filter(|ratio| SWING.contains(ratio)));
        // Eighths that swing otherwise than asked lie beside every curve, unless their own swing is taken out.
        let swung = Self::through(verdict, line, &own, beat_s);
        let clear = |(swung, straight): (Self, Self)| swung.squares < SWINGS.powi(2) * straight.squares;
        if straight.is_none() || swung.zip(straight).is_some_and(clear) { swung } else { straight }
    }

    /// The curve through the onsets, each note at the place, in beats, that `own` gives for the asked one.
    fn through(verdict: &Verdict, line: &Line, own: &dyn Fn(f64) -> f64, beat_s: f64) -> Option<Self> {
        let off = |(n, (note, judged)): (usize, (&crate::pattern::ExpectedNote, &NoteVerdict))| {
            let at = own(note.at.0);
            Some((n, at, judged.off_pulse?.0 + beat_s * (note.at.0 - at)))
        };
        let points: Vec<Point> = line.notes.iter().zip(&verdict.expected).enumerate().filter_map(off).collect();
        if points.len() < NOTES {
            return None;
        }
        let places: Vec<f64> = points.iter().map(|point| point.1).collect();
        let straight = fitted(&points, &[&|_| 1.0, &|at| at - places[0]])?.0;
        let bent = Self::bent(&points, straight).filter(|curve| curve.moves(beat_s));
        let free = (points.len() - 4) as f64;
        let clear = |curve: &Self| free * (straight - curve.squares) > CLEAR_AT_A_NOTE * curve.squares;
        let nearest = |turn: fn(usize) -> PaceTurn, side: usize| {
            let meets = (SIDE..points.len().saturating_sub(side)).filter_map(|n| Self::meeting(&points, n, turn));
            let nearest = meets.min_by(|one, other| one.squares.total_cmp(&other.squares));
            nearest.filter(|curve| clear(curve) && curve.moves(beat_s))
        };
        let angled = nearest(PaceTurn::AtOnce, SIDE).filter(|curve| {
            let [from_s, to_s] = curve.beats_s(beat_s);
            (to_s / from_s).max(from_s / to_s) < NOTE_VALUE
        });
        let later =
            nearest(PaceTurn::From, LATER).filter(|curve| bent.is_none_or(|bent| curve.squares < PLAIN * bent.squares));
        let curves = [bent, angled, later].into_iter().flatten();
        let nearest = curves.min_by(|one, other| one.squares.total_cmp(&other.squares));
        // Where one note alone lies off a pace that is held, that note is late or early, and the pace did not move.
        let onsets: Vec<(f64, f64)> = points.iter().map(|(_, at, late)| (*at, beat_s * at + late)).collect();
        let odd = clock::odd_one(&onsets).map_or(f64::INFINITY, |odd| odd.rest_s.powi(2) * (onsets.len() - 1) as f64);
        nearest.filter(|curve| curve.squares < odd)
    }

    fn new(points: &[Point], middle: f64, turn: PaceTurn) -> Option<Self> {
        let (squares, terms) = fitted(points, &[&|_| 1.0, &|at| at - middle, &|at| turn.of(at - middle)])?;
        let [first, second, .., before, last] = points else { return None };
        let scatter_s = (squares / points.len() as f64).sqrt();
        Some(Self { middle, turn, terms, ends: [(first.1, second.1), (before.1, last.1)], squares, scatter_s })
    }

    /// The parabola, where it is much nearer than the straight line.
    fn bent(points: &[Point], straight: f64) -> Option<Self> {
        let middle = 0.5 * (points.first()?.1 + points.last()?.1);
        let curve = Self::new(points, middle, PaceTurn::Steadily)?;
        let free = (points.len() - 3) as f64;
        Some(curve).filter(|curve| free * (straight - curve.squares) > CLEAR * curve.squares)
    }

    /// The two lines that meet at the `n`th of the answered notes.
    fn meeting(points: &[Point], n: usize, turn: fn(usize) -> PaceTurn) -> Option<Self> {
        let (place, at, _) = *points.get(n)?;
        Self::new(points, at, turn(place))
    }

    /// Whether the onsets lie near the curve, and its two paces differ.
    fn moves(&self, beat_s: f64) -> bool {
        let [from_s, to_s] = self.beats_s(beat_s);
        self.scatter_s < NEAR_S && from_s > 0.0 && to_s > 0.0 && (from_s / to_s).max(to_s / from_s) > MOVES
    }

    /// How long a beat lasts from the first note to the second, and from the last but one to the last, seconds.
    fn beats_s(&self, beat_s: f64) -> [f64; 2] {
        let [_, by, more] = self.terms;
        let at_ends = self.ends.map(|(a, b)| 0.5 * (a + b) - self.middle);
        match self.turn {
            PaceTurn::AtOnce(_) => [beat_s + by, beat_s + by + more],
            PaceTurn::Steadily => at_ends.map(|x| beat_s + by + 2.0 * more * x),
            PaceTurn::From(_) => at_ends.map(|x| beat_s + by + 2.0 * more * x.max(0.0)),
        }
    }

    /// Distance from the clock at a place, seconds.
    fn at(&self, beats: f64) -> f64 {
        let x = beats - self.middle;
        self.terms[0] + self.terms[1] * x + self.terms[2] * self.turn.of(x)
    }
}

impl PaceTurn {
    /// The bend of the onsets so many beats after the note where it begins, or after their middle.
    fn of(self, beats: f64) -> f64 {
        match self {
            Self::Steadily => beats.powi(2),
            Self::AtOnce(_) => beats.max(0.0),
            Self::From(_) => beats.max(0.0).powi(2),
        }
    }
}

/// How the pace of an answer moved, steadily or all at once; `None` for every other answer.
#[must_use]
pub fn pace_moved(verdict: &Verdict, line: &Line) -> Option<PaceMove> {
    let curve = PaceCurve::of(verdict, line)?;
    let [from, to] = curve.beats_s(60.0 / verdict.pace?.0).map(|beat_s| Tempo(60.0 / beat_s));
    Some(PaceMove { from, to, at: curve.turn })
}

/// Whether a pace that moves explains an answer at least as well as another rhythm, about which its onsets lie within `scatter_s` (root mean
/// square, seconds): equal notes that all last longer from a note on, or ever longer, are slower, and no other note values.
pub(super) fn moved_rather(verdict: &Verdict, line: &Line, scatter_s: f64) -> bool {
    let curve = PaceCurve::of(verdict, line).filter(|curve| curve.scatter_s <= scatter_s + ALIKE_S);
    let Some((curve, pace)) = curve.zip(verdict.pace) else { return false };
    let [from_s, to_s] = curve.beats_s(60.0 / pace.0);
    let triplets = (to_s / from_s / TRIPLETS.0 - 1.0).abs() <= TRIPLETS.1;
    !(triplets && matches!(curve.turn, PaceTurn::AtOnce(_)))
}

/// How late an answer in tempo came in and how late it ended, by its own pace, a measured delay of the devices and the time of standing
/// still taken out; `None` where that is not known, and in another rhythm than the asked one.
#[must_use]
pub fn late_at_both_ends(verdict: &Verdict, line: &Line, asked: Tempo) -> Option<(Seconds, Seconds)> {
    if verdict.untimed.is_some() || !verdict.rhythm.is_empty() {
        return None;
    }
    let (begun, pace) = (verdict.begun?, verdict.pace?);
    let mut answered = line.notes.iter().zip(&verdict.expected).filter(|(_, judged)| judged.heard.is_some());
    let (first, last) = (answered.next()?.0.at, answered.next_back()?.0.at);
    let ended = begun + pace.lasting(last - first) - asked.lasting(last - first);
    let bend = PaceCurve::of(verdict, line);
    let bent = |late: Seconds, at: f64| late + Seconds(bend.map_or(0.0, |bend| bend.at(at)));
    Some((bent(begun, first.0), bent(ended, last.0)))
}

/// The sum of these functions of the place, each with a factor of its own (three at most), that lies nearest to the points by least squares:
/// the sum of squares, and the factors; `None` where the points do not fix them.
fn fitted(points: &[Point], terms: &[&dyn Fn(f64) -> f64]) -> Option<(f64, [f64; 3])> {
    // Gram and Schmidt make the functions orthogonal on the points; then each has its own share.
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let mut left: Vec<f64> = points.iter().map(|point| point.2).collect();
    let mut basis: Vec<(Vec<f64>, [f64; 3])> = Vec::new();
    let mut whole = [0.0; 3];
    for (n, term) in terms.iter().enumerate().take(3) {
        let mut values: Vec<f64> = points.iter().map(|point| term(point.1)).collect();
        let mut made = [0.0; 3];
        made[n] = 1.0;
        for (other, of) in &basis {
            let share = dot(&values, other) / dot(other, other);
            values.iter_mut().zip(other).for_each(|(value, other)| *value -= share * other);
            made.iter_mut().zip(of).for_each(|(made, of)| *made -= share * of);
        }
        let size = dot(&values, &values);
        if size < 1e-9 {
            return None;
        }
        let share = dot(&left, &values) / size;
        left.iter_mut().zip(&values).for_each(|(left, value)| *left -= share * value);
        whole.iter_mut().zip(&made).for_each(|(whole, made)| *whole += share * made);
        basis.push((values, made));
    }
    Some((dot(&left, &left), whole))
}
