use crate::units::{Cents, median, spread};

/// Smallest drift that is taken out of a table, in cents.
const FELT: f64 = 3.0;
/// A drift is taken out of a table only where it is more than so many standard errors.
const SURE: f64 = 3.0;
/// The median absolute deviation of a normal spread is its standard deviation over this.
pub(super) const NORMAL: f64 = 1.4826;
/// Two points nearer in time than this tell no slope, seconds: a hundredth of a cent between them would be a drift.
const APART: f64 = 0.05;
/// A median slope is a little less certain than a mean one (efficiency .91 under a normal spread, Sen 1968, from memory).
const MEDIAN_SLOPE: f64 = 1.05;

/// How far the general offset moved in a straight line from first to last. It means the same of the notes of a
/// run and of the answers of a sitting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drift {
    /// How far the offset moved from first to last; upward above zero.
    pub by: Cents,
    /// Two standard errors of the drift.
    pub within: Cents,
    /// What the movement may be besides a drift; `None` where there is no such doubt.
    pub doubt: Option<Doubt>,
    /// Of a run, whether the line was taken out of the cents of every note. Of a sitting, only whether the drift is as sure as
    /// that: there each answer's own offset is out.
    pub taken_out: bool,
}

/// What looks like a drift and may be another thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// The line went one way only, so that high notes may simply lie otherwise than low ones.
    OneWay,
    /// The way down came after the way up and may lie otherwise.
    WayDown,
}

/// The slope of a straight line through points that scatter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Slope {
    /// The median slope between all pairs of points (Theil 1950, Sen 1968).
    pub slope: f64,
    /// Standard error of the slope, from the median absolute deviation of the residuals.
    pub error: f64,
    /// Sum of the distances of the points from the line, signs aside.
    pub left: f64,
}

impl Slope {
    /// The median slope of points in `groups`: pairs are taken within a group only, and every group has a level of its own. `levels` is
    /// the number of levels that were taken out of the points before. `None` where no two points of a group lie apart in time.
    pub fn of(groups: &[Vec<(f64, f64)>], levels: usize) -> Option<Self> {
        let mut slopes = Vec::new();
        for points in groups {
            for (n, one) in points.iter().enumerate() {
                let later = points[n + 1..].iter().filter(|other| (other.0 - one.0).abs() > APART);
                slopes.extend(later.map(|other| (other.1 - one.1) / (other.0 - one.0)));
            }
        }
        let slope = median(&slopes)?;
        let (mut left, mut square) = (Vec::new(), 0.0);
        for points in groups {
            let rest: Vec<f64> = points.iter().map(|(t, cents)| cents - slope * t).collect();
            let level = median(&rest).unwrap_or(0.0);
            left.extend(rest.iter().map(|cents| cents - level));
            let middle = points.iter().map(|point| point.0).sum::<f64>() / points.len().max(1) as f64;
            square += points.iter().map(|point| (point.0 - middle).powi(2)).sum::<f64>();
        }
        let free = left.len().saturating_sub(levels + 1).max(1) as f64;
        let deviation = NORMAL * spread(&left)? * (left.len() as f64 / free).sqrt();
        let error = MEDIAN_SLOPE * deviation / square.sqrt().max(f64::MIN_POSITIVE);
        Some(Self { slope, error, left: left.iter().map(|cents| cents.abs()).sum() })
    }

    /// The drift over a time, in seconds.
    pub fn over(self, time: f64, doubt: Option<Doubt>) -> Drift {
        let (by, error) = (self.slope * time, self.error * time);
        let sure = by.abs() > FELT.max(SURE * error);
        Drift { by: Cents(by), within: Cents(2.0 * error), doubt: doubt.filter(|_| sure), taken_out: sure }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_note_far_off_does_not_bend_the_line() {
        let mut points: Vec<(f64, f64)> = (0..21).map(|n| (f64::from(n), 1.2 * f64::from(n))).collect();
        points[20].1 += 60.0;
        let drift = Slope::of(&[points], 1).unwrap().over(20.0, None);
        assert!((drift.by.0 - 24.0).abs() < 0.01 && drift.taken_out, "{drift:?}");
    }

    #[test]
    fn five_points_worked_by_hand_have_their_slope() {
        // By hand: the ten slopes between these are 1, 1, 1.5, 2, 2, 2, 7/3, 2.5, 2.5 and 4; the middle two are 2.
        let points = vec![(0.0, 0.0), (1.0, 2.0), (2.0, 3.0), (3.0, 7.0), (4.0, 8.0)];
        assert!((Slope::of(&[points], 1).unwrap().slope - 2.0).abs() < 1e-12);
    }

    #[test]
    fn points_at_nearly_one_time_have_no_slope() {
        // Each pitch of a line in thirds comes first on the way up and one beat later on the way down: within a way all lie at one time.
        let points = [0.0, 0.0002, 0.0004].map(|later| vec![(-0.59 + later, 10.0 * later), (-0.59 - later, 0.0)]);
        assert_eq!(Slope::of(&points, 3), None);
    }

    #[test]
    fn two_standard_errors_hold_the_truth_as_often_as_they_should() {
        // Noise of sd 9 from Knuth's MMIX generator, twelve uniform numbers a value; a drift of 24 over 49 notes.
        let mut state = 751u64;
        let mut uniform = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        let mut held = 0;
        for _ in 0..400 {
            let mut noise = || 9.0 * ((0..12).map(|_| uniform()).sum::<f64>() - 6.0);
            let points = (0..49).map(|n| (f64::from(n), 0.5 * f64::from(n) + noise())).collect();
            let drift = Slope::of(&[points], 1).unwrap().over(48.0, None);
            held += u32::from((drift.by.0 - 24.0).abs() <= drift.within.0);
        }
        assert!((360..=396).contains(&held), "{held} of 400, 95 in a hundred by theory");
    }
}
