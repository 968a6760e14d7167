/// Mean levels of stretches of `step` samples, in decibels.
pub(super) fn levels(samples: &[f64], step: usize) -> Vec<f64> {
    samples
        .chunks(step.max(1))
        .map(|part| 10.0 * (part.iter().map(|s| s * s).sum::<f64>() / part.len() as f64).max(1e-20).log10())
        .collect()
}
