/// Mean levels of stretches of `step` samples, in decibels.
pub(super) fn levels(samples: &[f64], step: usize) -> Vec<f64> {
    samples
        .chunks(step.max(1))
        .map(|part| 10.0 * (part.iter().map(|s| s * s).sum::<f64>() / part.len() as f64).max(1e-20).log10())
        .collect()
}

/// The first stretch that comes within 20 dB of the loudest.
pub(super) fn first_rise(levels: &[f64]) -> Option<usize> {
    let loudest = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    levels.iter().position(|level| *level > loudest - 20.0)
}

/// The time in which the level sinks by 60 dB, in stretches, read off the first 18 dB after the end of a sound; `None` when
/// it does not sink steadily (an answer came in) or sinks into noise before that.
pub(super) fn decay(levels: &[f64], noise: f64) -> Option<f64> {
    let first = *levels.first()?;
    let mut lowest = first;
    for (index, level) in levels.iter().enumerate() {
        if *level > lowest + 6.0 || *level < noise + 6.0 {
            return None;
        }
        lowest = lowest.min(*level);
        if first - level >= 18.0 {
            return Some(60.0 * index as f64 / (first - level));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tail_that_sinks_three_decibels_a_step_takes_twenty_steps_for_sixty() {
        let tail: Vec<f64> = (0..20).map(|step| -20.0 - 3.0 * f64::from(step)).collect();
        assert!((decay(&tail, -90.0).expect("sinks") - 20.0).abs() < 1e-9);
    }

    #[test]
    fn a_tail_into_which_an_answer_falls_is_not_a_tail() {
        assert_eq!(decay(&[-20.0, -25.0, -30.0, -18.0, -17.0], -90.0), None);
        assert_eq!(decay(&[-20.0, -25.0, -30.0, -31.0], -35.0), None);
    }
}
