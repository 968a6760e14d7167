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

/// The one of exactly four points that lies off the line of the three others, with that line; `None` where none does clearly. Among so few
/// the median of all slopes is drawn to it.
pub(super) fn one_of_four(points: &[(f64, f64)]) -> Option<(usize, PulseFit)> {
    if points.len() != 4 {
        return None;
    }
    let mut ways: Vec<(f64, usize, PulseFit)> = (0..4).filter_map(|n| without(points, n)).collect();
    ways.sort_by_cached_key(|(rest, ..)| rank(*rest));
    let [(rest, n, pulse), (next, ..), ..] = ways[..] else { return None };
    let off = (points[n].1 - pulse.at(points[n].0)).abs();
    let [together, from, to] = OF_FOUR_S;
    (rest < together && next > OF_FOUR_CLEAR * rest.max(0.5 * together) && (from..to).contains(&off))
        .then_some((n, pulse))
}

/// The line of least squares through all points but one, and how far they lie from it (root mean square).
fn without(points: &[(f64, f64)], n: usize) -> Option<(f64, usize, PulseFit)> {
    let others = || points.iter().enumerate().filter(|(m, _)| *m != n).map(|(_, point)| *point);
    let count = others().count() as f64;
    let (x, y) = others().fold((0.0, 0.0), |sum, point| (sum.0 + point.0 / count, sum.1 + point.1 / count));
    let spread: f64 = others().map(|point| (point.0 - x).powi(2)).sum();
    let beat_s = others().map(|point| (point.0 - x) * (point.1 - y)).sum::<f64>() / spread;
    let pulse = PulseFit { start_s: y - beat_s * x, beat_s };
    let squares: f64 = others().map(|(at, onset_s)| (onset_s - pulse.at(at)).powi(2)).sum();
    (beat_s > 0.0 && beat_s.is_finite()).then_some(((squares / count).sqrt(), n, pulse))
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
