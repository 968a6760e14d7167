use crate::units::median;

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
    fn one_note_has_no_pace() {
        assert_eq!(fit(&[(0.0, 1.0)]), None);
        assert_eq!(fit(&[(1.0, 1.0), (1.0, 2.0)]), None);
    }
}
