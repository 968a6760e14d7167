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
/// About a pace that moves steadily the onsets lie within this, seconds (root mean square).
const NEAR_S: f64 = 0.034;

/// How the onsets of an answer bend away from the clock fitted through them: a parabola by least squares.
#[derive(Debug, Clone, Copy)]
struct PaceBend {
    /// The middle of the places, beats.
    middle: f64,
    /// Distance from the clock at the middle (seconds), by how much a beat is longer there than the clock has it (seconds a beat), and half
    /// of how much longer each next beat is.
    terms: [f64; 3],
    /// The places of the first two and of the last two answered notes, beats.
    ends: [(f64, f64); 2],
}

impl PaceBend {
    /// The bend of an answer that steadily sped up or slowed down; `None` for every other answer.
    fn of(verdict: &Verdict, line: &Line) -> Option<Self> {
        if !verdict.rhythm.is_empty() || !verdict.stood.is_empty() || verdict.attempts > 1 {
            return None;
        }
        let beat_s = 60.0 / verdict.pace?.0;
        let off =
            |(note, judged): (&crate::pattern::ExpectedNote, &NoteVerdict)| Some((note.at.0, judged.off_pulse?.0));
        let points: Vec<(f64, f64)> = line.notes.iter().zip(&verdict.expected).filter_map(off).collect();
        let (&[first, second, ..], &[.., before, last]) = (&points[..], &points[..]) else { return None };
        if points.len() < NOTES {
            return None;
        }
        let middle = 0.5 * (first.0 + last.0);
        let (straight, _) = fitted(&points, middle, 2)?;
        let (bent, terms) = fitted(&points, middle, 3)?;
        let free = (points.len() - 3) as f64;
        let clear = free * (straight - bent) > CLEAR * bent;
        let near = (bent / points.len() as f64).sqrt() < NEAR_S;
        let bend = Self { middle, terms, ends: [(first.0, second.0), (before.0, last.0)] };
        let [from_s, to_s] = bend.beats_s(beat_s);
        let moves = from_s > 0.0 && to_s > 0.0 && (from_s / to_s).max(to_s / from_s) > MOVES;
        (clear && near && moves).then_some(bend)
    }

    /// How long a beat lasts from the first note to the second, and from the last but one to the last, seconds.
    fn beats_s(&self, beat_s: f64) -> [f64; 2] {
        let between = |(a, b): (f64, f64)| beat_s + self.terms[1] + 2.0 * self.terms[2] * (0.5 * (a + b) - self.middle);
        self.ends.map(between)
    }

    /// Distance from the clock at a place, seconds.
    fn at(&self, beats: f64) -> f64 {
        let x = beats - self.middle;
        self.terms[0] + self.terms[1] * x + self.terms[2] * x * x
    }
}

/// The pace at the beginning and at the end of an answer that steadily sped up or slowed down; `None` for every other answer.
#[must_use]
pub fn pace_moved(verdict: &Verdict, line: &Line) -> Option<(Tempo, Tempo)> {
    let [from_s, to_s] = PaceBend::of(verdict, line)?.beats_s(60.0 / verdict.pace?.0);
    Some((Tempo(60.0 / from_s), Tempo(60.0 / to_s)))
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
    let bend = PaceBend::of(verdict, line);
    let bent = |late: Seconds, at: f64| late + Seconds(bend.map_or(0.0, |bend| bend.at(at)));
    Some((bent(begun, first.0), bent(ended, last.0)))
}

/// The polynomial of `terms` terms (3 at most) about `middle` that lies nearest to the points by least squares, after its sum of squares;
/// `None` where the points do not fix one.
fn fitted(points: &[(f64, f64)], middle: f64, terms: usize) -> Option<(f64, [f64; 3])> {
    // Gram and Schmidt make the powers orthogonal on the points, each with a leading 1; then each has its own share.
    let x: Vec<f64> = points.iter().map(|point| point.0 - middle).collect();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let mut left: Vec<f64> = points.iter().map(|point| point.1).collect();
    let mut basis: Vec<(Vec<f64>, [f64; 3])> = Vec::new();
    let mut whole = [0.0; 3];
    for power in 0..terms {
        let mut values: Vec<f64> = x.iter().map(|x| x.powi(power as i32)).collect();
        let mut made = [0.0; 3];
        made[power] = 1.0;
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
