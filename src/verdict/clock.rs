use crate::units::{median, rank};

/// The pulse of an answer: a straight line through its onsets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PulseFit {
    /// When beat 0 falls, in seconds.
    pub start_s: f64,
    /// How long a quarter note lasts, in seconds.
    pub beat_s: f64,
}

impl PulseFit {
    /// The second at which a place in the line falls.
    pub fn at(self, beats: f64) -> f64 {
        self.start_s + self.beat_s * beats
    }
}

/// Of four notes one is off the pulse of the three others where these keep together within this (root mean square) and it lies off by more
/// than the second number and less than the third, seconds: further, it is another rhythm or a pause.
const OF_FOUR_S: [f64; 3] = [0.008, 0.064, 0.15];
/// The three others keep together so many times nearer than any other three of the four.
const OF_FOUR_CLEAR: f64 = 3.0;
/// Of four notes the one lies off by more than this many times as far as people stray there.
const OF_FOUR_STANDS_OUT: f64 = 2.8;
/// People are taken to stray by the first number, seconds, as if so many onsets more had shown it: a few notes lie near a line by chance.
const STRAYS: (f64, f64) = (0.02, 4.0);

/// The note of a line that lies furthest from where the others put it.
#[derive(Debug, Clone, Copy)]
pub(super) struct OddOne {
    /// Which of the points it is.
    pub n: usize,
    /// The line of least squares through all others.
    pub pulse: PulseFit,
    /// How far the others lie from that line (root mean square), seconds.
    pub rest_s: f64,
    /// How late the note is by that line, seconds.
    pub by_s: f64,
    /// How many times as far off it lies as people stray there. A line says less of a place beyond its ends.
    pub stands_out: f64,
}

/// The one of four points or more that lies off the line of the others, which lie nearest to a line without it.
pub(super) fn odd_one(points: &[(f64, f64)]) -> Option<OddOne> {
    if points.len() < 4 {
        return None;
    }
    (0..points.len()).filter_map(|n| without(points, n)).min_by(|a, b| a.rest_s.total_cmp(&b.rest_s))
}

/// The one of exactly four points that lies off the line of the three others; `None` where none does clearly. Among so few the median of
/// all slopes is drawn to it.
pub(super) fn one_of_four(points: &[(f64, f64)]) -> Option<OddOne> {
    if points.len() != 4 {
        return None;
    }
    let mut ways: Vec<OddOne> = (0..4).filter_map(|n| without(points, n)).collect();
    ways.sort_by_cached_key(|it| rank(it.rest_s));
    let [one, next, ..] = ways[..] else { return None };
    let [together, from, to] = OF_FOUR_S;
    let clear = next.rest_s > OF_FOUR_CLEAR * one.rest_s.max(0.5 * together);
    let alone = one.rest_s < together && clear && one.stands_out > OF_FOUR_STANDS_OUT;
    (alone && (from..to).contains(&one.by_s.abs())).then_some(one)
}

/// How one point lies beside the line of least squares through all others.
fn without(points: &[(f64, f64)], n: usize) -> Option<OddOne> {
    let others = || points.iter().enumerate().filter(|(m, _)| *m != n).map(|(_, point)| *point);
    let count = others().count() as f64;
    let (x, y) = others().fold((0.0, 0.0), |sum, point| (sum.0 + point.0 / count, sum.1 + point.1 / count));
    let spread: f64 = others().map(|point| (point.0 - x).powi(2)).sum();
    let beat_s = others().map(|point| (point.0 - x) * (point.1 - y)).sum::<f64>() / spread;
    let pulse = PulseFit { start_s: y - beat_s * x, beat_s };
    let squares: f64 = others().map(|(at, onset_s)| (onset_s - pulse.at(at)).powi(2)).sum();
    let (at, onset_s) = points[n];
    let by_s = onset_s - pulse.at(at);
    // The squared error of where the line has the place, in squares of how far people stray (least squares).
    let error = 1.0 + 1.0 / count + (at - x).powi(2) / spread;
    let strays = (squares + STRAYS.1 * STRAYS.0.powi(2)) / (count - 2.0 + STRAYS.1);
    let stands_out = by_s.abs() / (strays * error).sqrt();
    let odd = OddOne { n, pulse, rest_s: (squares / count).sqrt(), by_s, stands_out };
    (beat_s > 0.0 && beat_s.is_finite()).then_some(odd)
}

/// The line through `(beat, onset in seconds)` whose slope is the median of the slopes of all pairs, and whose start is the
/// median of what is left (Theil 1950, Sen 1968, from memory): a late note or a breath moves it little.
///
/// `None` where no two points lie at different places, or where time does not go forward.
pub(super) fn fit(points: &[(f64, f64)]) -> Option<PulseFit> {
    let beat_s = median(&slopes(points))?;
    (beat_s > 0.0).then_some(PulseFit { start_s: start(points, beat_s)?, beat_s })
}

/// How many seconds a beat lasts between each two points at different places.
pub(super) fn slopes(points: &[(f64, f64)]) -> Vec<f64> {
    let mut slopes = Vec::with_capacity(points.len() * points.len() / 2);
    for (n, a) in points.iter().enumerate() {
        slopes.extend(points[..n].iter().filter(|b| (a.0 - b.0).abs() > 1e-9).map(|b| (a.1 - b.1) / (a.0 - b.0)));
    }
    slopes
}

/// How many seconds a beat lasts within parts of a line, which may begin as late as they like: the median of the slopes of all pairs of one
/// part, each weighted by how far apart its notes are (Sievers 1978, from memory). A stray onset falsifies the slope of near notes more than
/// that of distant ones, and a part has too few pairs for the plain median to even that out.
///
/// `None` where no part has two points at different places.
pub(super) fn pace_within(parts: &[Vec<(f64, f64)>]) -> Option<f64> {
    let apart = |a: &(f64, f64), b: &(f64, f64)| (a.0 - b.0).abs();
    let pairs =
        parts.iter().flat_map(|part| part.iter().enumerate().flat_map(|(n, a)| part[..n].iter().map(move |b| (a, b))));
    let mut slopes: Vec<(f64, f64)> =
        pairs.filter(|(a, b)| apart(a, b) > 1e-9).map(|(a, b)| ((a.1 - b.1) / (a.0 - b.0), apart(a, b))).collect();
    slopes.sort_by_cached_key(|(slope, _)| rank(*slope));
    let half = 0.5 * slopes.iter().map(|(_, weight)| weight).sum::<f64>();
    let mut weight_up_to = 0.0;
    slopes.iter().find_map(|(slope, weight)| {
        weight_up_to += weight;
        (weight_up_to >= half).then_some(*slope)
    })
}

/// The second of beat 0, where a beat lasts `beat_s`: the median over the points.
pub(super) fn start(points: &[(f64, f64)], beat_s: f64) -> Option<f64> {
    median(&points.iter().map(|(beats, onset)| onset - beat_s * beats).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_breath_before_one_note_does_not_change_the_pace() {
        // Worked by hand: ten pairs, six of which lie wholly among the four notes on the grid.
        let points = [(0.0, 1.0), (0.5, 1.25), (1.0, 1.5), (1.5, 1.75), (2.0, 2.6)];
        let fit = fit(&points).unwrap();
        assert!((fit.beat_s - 0.5).abs() < 1e-9 && (fit.start_s - 1.0).abs() < 1e-9, "{fit:?}");
    }

    #[test]
    fn notes_far_apart_say_more_of_the_pace_than_near_ones() {
        // Worked by hand: slopes .4, .5 and .475 over one, three and four beats; half of the eight beats is reached at .475.
        let parts = [vec![(0.0, 1.0), (1.0, 1.4), (4.0, 2.9)]];
        assert!((pace_within(&parts).unwrap() - 0.475).abs() < 1e-9);
        assert_eq!(pace_within(&[vec![(0.0, 1.0)], vec![(1.0, 3.0)]]), None);
    }

    #[test]
    fn one_note_has_no_pace() {
        assert_eq!(fit(&[(0.0, 1.0)]), None);
        assert_eq!(fit(&[(1.0, 1.0), (1.0, 2.0)]), None);
    }
}
