/// A logarithmic axis whose places are per cent of the width of its cell: equal steps are equal ratios.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LogAxis {
    low: f64,
    high: f64,
}

/// Smallest ratio from one end to the other: a narrower axis would show chance as change.
const LEAST: f64 = 3.0;
/// Room beyond the outermost values, as a ratio.
const ROOM: f64 = 1.12;
/// Smallest ratio between two marks.
const NEAREST: f64 = 1.45;
/// Round values that may carry a line, before they are multiplied by powers of ten.
const ROUND: [f64; 3] = [1.0, 2.0, 5.0];

impl LogAxis {
    /// An axis that covers all values above zero; other values are left out. `None` without such a value.
    pub fn over(values: impl Iterator<Item = f64>) -> Option<Self> {
        let (low, high) = values
            .filter(|value| value.is_finite() && *value > 0.0)
            .fold((f64::INFINITY, 0.0f64), |(low, high), value| (low.min(value), high.max(value)));
        if high <= 0.0 {
            return None;
        }
        let (low, high) = (low / ROOM, high * ROOM);
        let wider = (LEAST / (high / low)).max(1.0).sqrt();
        Some(Self { low: low / wider, high: high * wider })
    }

    /// The place of a value in per cent from the low end, on a logarithmic axis (common practice), so that equal ratios are equally
    /// wide; a value beyond an end stands at that end.
    pub fn place(self, value: f64) -> f64 {
        ((value / self.low).ln() / (self.high / self.low).ln() * 100.0).clamp(0.0, 100.0)
    }

    /// Round values inside the axis that may carry a mark; finer ones where fewer than two round ones lie inside.
    pub fn marks(self) -> Vec<f64> {
        let powers = -3..=5;
        let inside = |value: &f64| *value >= self.low && *value <= self.high;
        let all = |steps: &[f64]| -> Vec<f64> {
            let of = |power: i32| steps.iter().map(move |step| step * 10f64.powi(power)).collect::<Vec<_>>();
            powers.clone().flat_map(of).filter(inside).collect()
        };
        let round = all(&ROUND);
        let mut marks = if round.len() >= 2 { round } else { all(&[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0]) };
        let mut last = 0.0;
        // On a telephone the figures of closer marks would touch.
        marks.retain(|mark| {
            let apart = *mark >= last * NEAREST;
            last = if apart { *mark } else { last };
            apart
        });
        marks
    }
}

#[cfg(test)]
mod tests {
    use super::LogAxis;

    #[test]
    fn twice_as_slow_is_the_same_step_wherever_it_stands() {
        let axis = LogAxis::over([0.5, 1.0, 2.0, 4.0].into_iter()).unwrap();
        let steps: Vec<f64> = [0.5, 1.0, 2.0].map(|value| axis.place(2.0 * value) - axis.place(value)).to_vec();
        assert!((steps[0] - steps[1]).abs() < 1e-9 && (steps[1] - steps[2]).abs() < 1e-9, "{steps:?}");
        assert_eq!(axis.marks(), [0.5, 1.0, 2.0]);
    }

    #[test]
    fn a_player_who_stands_still_gets_no_steep_picture() {
        let axis = LogAxis::over([1.0, 1.02].into_iter()).unwrap();
        assert!(axis.place(1.02) - axis.place(1.0) < 3.0);
        assert!(axis.marks().len() >= 2, "{:?}", axis.marks());
    }

    #[test]
    fn figures_on_the_axis_stand_apart_on_a_telephone() {
        // From 54 to 161 on a quarter of 390 pixels, at 11 pixels a figure: 80 would touch 60 and 100.
        let axis = LogAxis::over([60.0, 144.0].into_iter()).unwrap();
        assert_eq!(axis.marks(), [60.0, 100.0, 150.0]);
    }

    #[test]
    fn nothing_measured_has_no_axis() {
        assert_eq!(LogAxis::over([f64::NAN, 0.0, -1.0].into_iter()), None);
    }
}
