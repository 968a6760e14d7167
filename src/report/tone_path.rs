use crate::units::{Cents, Seconds};

/// Shortest leg at either end of a path of several; a shorter end is a bend of that end ([`crate::report::Bend`]).
const OUTER_S: f64 = 1.2;
/// A path of several legs is taken where it leaves no more than this share of what a straight line leaves (root mean square).
const BETTER: f64 = 0.6;
/// Smallest distance, in cents, between that path and the straight line, at the place where they lie farthest apart.
const APART: f64 = 3.0;
/// Number of readings to which those of a tone are thinned, about: every two of them are tried as corners.
const COMPARED: usize = 100;

/// A part of a held tone over which its pitch stood or moved in a straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// How long the part lasts; 0 where the pitch stepped at once.
    pub lasting: Seconds,
    /// How far the pitch moved in it; above 0 is upwards.
    pub by: Cents,
}

/// The way that the pitch of a tone took: corners in seconds and cents, joined by straight lines. There are two to four.
#[derive(Debug, Clone)]
pub(super) struct TonePath(Vec<(f64, f64)>);

impl TonePath {
    /// A straight line from the beginning of the tone to its end.
    pub fn straight(level: f64, slope: f64, length_s: f64) -> Self {
        Self(vec![(0.0, level), (length_s, level + slope * length_s)])
    }

    /// A path of two legs (steady and then sinking, up and then down), or of three with a level beginning and a level end (a step, a
    /// slide), where it fits these readings much better than the straight line; `None` where none does. `slack` is by how much the
    /// path must bend more than usual, in cents.
    pub fn bent(readings: &[(f64, f64)], straight: &Self, slack: f64) -> Option<Self> {
        let thin: Vec<(f64, f64)> =
            readings.iter().step_by(readings.len().div_ceil(COMPARED).max(1)).copied().collect();
        let inside = OUTER_S..=straight.length_s() - OUTER_S;
        let corners: Vec<f64> = thin.iter().map(|look| look.0).filter(|at| inside.contains(at)).collect();
        let one = corners.iter().filter_map(|at| Self::of_two(&thin, *at, straight.length_s()));
        let two = corners.iter().enumerate().flat_map(|(n, from)| {
            corners[n..].iter().filter_map(|until| Self::of_three(&thin, (*from, *until), straight.length_s()))
        });
        let (left, best) =
            one.chain(two).map(|course| (course.left(&thin), course)).min_by(|a, b| a.0.total_cmp(&b.0))?;
        let apart = thin.iter().map(|look| (best.at(look.0) - straight.at(look.0)).abs()).fold(0.0, f64::max);
        (left <= BETTER * straight.left(&thin) && apart >= APART + slack).then_some(best)
    }

    /// Two legs that meet at a corner, by least squares.
    fn of_two(looks: &[(f64, f64)], corner: f64, length_s: f64) -> Option<Self> {
        let beyond = |at: f64| (at - corner).max(0.0);
        let [level, slope, more] = least_squares(looks, &|at| [at, beyond(at)])?;
        let there = |at: f64| level + slope * at + more * beyond(at);
        Some(Self([0.0, corner, length_s].map(|at| (at, there(at))).to_vec()))
    }

    /// Two levels and the way from one to the other, by least squares.
    fn of_three(looks: &[(f64, f64)], (from, until): (f64, f64), length_s: f64) -> Option<Self> {
        let share = |at: f64| match until - from {
            wide if wide > 0.0 => ((at - from) / wide).clamp(0.0, 1.0),
            _ => f64::from(at >= from),
        };
        let [level, by, _] = least_squares(looks, &|at| [share(at), 0.0])?;
        Some(Self(vec![(0.0, level), (from, level), (until, level + by), (length_s, level + by)]))
    }

    /// Length of the tone, in seconds.
    fn length_s(&self) -> f64 {
        self.0.last().map_or(0.0, |corner| corner.0)
    }

    /// The cents at an instant of the tone.
    pub fn at(&self, at: f64) -> f64 {
        let legs = || self.0.windows(2).map(|pair| (pair[0], pair[1]));
        let Some(((t0, c0), (t1, c1))) = legs().find(|leg| at < leg.1.0).or_else(|| legs().next_back()) else {
            return 0.0;
        };
        c0 + (c1 - c0) * (at - t0) / (t1 - t0).max(f64::MIN_POSITIVE)
    }

    /// Its legs, in order.
    pub fn legs(&self) -> [Option<Leg>; 3] {
        let leg = |n: usize| {
            let (from, until) = (self.0.get(n)?, self.0.get(n + 1)?);
            Some(Leg { lasting: Seconds(until.0 - from.0), by: Cents(until.1 - from.1) })
        };
        [leg(0), leg(1), leg(2)]
    }

    /// What is left of these readings when the path is taken out: its root mean square, in cents.
    pub fn left(&self, looks: &[(f64, f64)]) -> f64 {
        let squares: f64 = looks.iter().map(|(at, cents)| (cents - self.at(*at)).powi(2)).sum();
        (squares / looks.len().max(1) as f64).sqrt()
    }
}

/// The constant and the two factors with which two shapes fit the looks best; the second factor is 0 where the second shape adds nothing.
/// `None` where the first shape is the same everywhere.
fn least_squares(looks: &[(f64, f64)], shapes: &dyn Fn(f64) -> [f64; 2]) -> Option<[f64; 3]> {
    let count = looks.len() as f64;
    let rows: Vec<[f64; 3]> = looks.iter().map(|(at, cents)| [shapes(*at)[0], shapes(*at)[1], *cents]).collect();
    let mean: Vec<f64> = (0..3).map(|n| rows.iter().map(|row| row[n]).sum::<f64>() / count).collect();
    let sum = |a: usize, b: usize| rows.iter().map(|row| (row[a] - mean[a]) * (row[b] - mean[b])).sum::<f64>();
    let (s11, s12, s22, s1y, s2y) = (sum(0, 0), sum(0, 1), sum(1, 1), sum(0, 2), sum(1, 2));
    if s11 <= 0.0 {
        return None;
    }
    let both = s11 * s22 - s12 * s12;
    let (one, two) = if both > 1e-9 * s11 * s22 && both > 0.0 {
        ((s1y * s22 - s2y * s12) / both, (s2y * s11 - s1y * s12) / both)
    } else {
        (s1y / s11, 0.0)
    };
    Some([mean[2] - one * mean[0] - two * mean[1], one, two])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The path of a tone of six seconds that follows `path`, wavering by a cent; `None` where a straight line tells it as well.
    fn course(path: &dyn Fn(f64) -> f64) -> Option<TonePath> {
        let looks: Vec<(f64, f64)> =
            (2..118).map(|n| f64::from(n) * 0.05).map(|at| (at, path(at) + (37.0 * at).sin())).collect();
        let middle = looks.iter().map(|look| look.1).sum::<f64>() / looks.len() as f64;
        let [_, slope, _] = least_squares(&looks, &|at| [at, 0.0])?;
        TonePath::bent(&looks, &TonePath::straight(middle - 3.0 * slope, slope, 6.0), 0.0)
    }

    fn legs(path: &dyn Fn(f64) -> f64) -> Vec<(f64, f64)> {
        let tenths = |value: f64| (10.0 * value).round() / 10.0;
        let legs = course(path).map(|course| course.legs());
        legs.iter().flatten().flatten().map(|leg| (tenths(leg.lasting.0), leg.by.0.round())).collect()
    }

    #[test]
    fn a_straight_line_and_a_wavering_are_no_bent_course() {
        assert_eq!(legs(&|at| -10.0 * at), []);
        assert_eq!(legs(&|at| 8.0 * (4.4 * at).sin()), []);
    }

    #[test]
    fn steady_and_then_sinking_up_and_down_and_a_step_have_their_legs() {
        assert_eq!(legs(&|at| -25.0 * (at - 4.0).max(0.0)), [(4.0, 0.0), (2.0, -50.0)]);
        assert_eq!(legs(&|at| -10.0 * (at - 3.0).abs()), [(3.0, 30.0), (3.0, -30.0)]);
        let step = legs(&|at| if at < 3.0 { 0.0 } else { -30.0 });
        assert!(
            matches!(step[..], [(first, 0.0), (way, -30.0), (last, 0.0)] if first > 2.8 && way < 0.2 && last > 2.8)
        );
        let slide = legs(&|at| -20.0 * (at - 2.0).clamp(0.0, 1.5));
        assert!(matches!(slide[..], [(_, 0.0), (way, -30.0), (_, 0.0)] if (way - 1.5).abs() < 0.2), "{slide:?}");
    }
}
