use realfft::RealFftPlanner;

/// The sound of `dry` through `response`: their convolution, as long as both together less one sample; empty where one of the two is empty.
#[must_use]
pub fn convolve(dry: &[f32], response: &[f32]) -> Vec<f32> {
    if dry.is_empty() || response.is_empty() {
        return Vec::new();
    }
    let length = dry.len() + response.len() - 1;
    let size = length.next_power_of_two();
    let mut planner = RealFftPlanner::<f32>::new();
    let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let mut spectra = [dry, response].map(|part| {
        let mut padded = part.to_vec();
        padded.resize(size, 0.0);
        let mut spectrum = forward.make_output_vec();
        // The lengths come from the plan itself, so this cannot fail.
        let _ = forward.process(&mut padded, &mut spectrum);
        spectrum
    });
    let [mut product, other] = std::mem::take(&mut spectra);
    for (one, two) in product.iter_mut().zip(&other) {
        *one = *one * *two / size as f32;
    }
    let mut wet = inverse.make_output_vec();
    let _ = inverse.process(&mut product, &mut wet);
    wet.truncate(length);
    wet
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn convolving_is_the_sum_of_delayed_copies() {
        let wet = convolve(&[1.0, 2.0, -1.0], &[1.0, 0.0, 0.5]);
        for (got, want) in wet.iter().zip([1.0, 2.0, -0.5, 1.0, -0.5]) {
            assert!((got - want).abs() < 1e-5);
        }
        assert_eq!(wet.len(), 5);
    }
}
