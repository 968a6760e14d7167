/// Mean levels of one stretch of `step` samples after another, in decibels (ten times the decimal logarithm of the mean square;
/// common practice); the last stretch may be shorter.
pub(super) fn levels(samples: impl Iterator<Item = f32>, step: usize) -> Vec<f64> {
    let decibels = |(power, count): (f64, usize)| 10.0 * (power / count as f64).max(1e-20).log10();
    let (mut all, mut part) = (Vec::new(), (0.0, 0));
    for sample in samples {
        part = (part.0 + f64::from(sample).powi(2), part.1 + 1);
        if part.1 >= step {
            all.push(decibels(std::mem::take(&mut part)));
        }
    }
    if part.1 > 0 {
        all.push(decibels(part));
    }
    all
}
