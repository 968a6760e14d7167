//! What is measured of a single note, apart from the ear: when it begins, when it has spoken, how it is tuned.
use earfirst::outside::units::{A440, Midi};

/// All sound here has this rate, samples a second.
pub const RATE: f64 = 44_100.0;

/// Power over `width` samples about each `step`-th sample.
fn powers(sound: &[f32], width: usize, step: usize) -> Vec<f64> {
    let mut sums = Vec::with_capacity(sound.len() + 1);
    sums.push(0.0);
    let mut sum = 0.0;
    for sample in sound {
        sum += f64::from(*sample).powi(2);
        sums.push(sum);
    }
    let middle =
        |at: usize| (sums[(at + width / 2).min(sound.len())] - sums[at.saturating_sub(width / 2)]) / width as f64;
    (0..sound.len()).step_by(step).map(middle).collect()
}

/// The sample at which the level over 3 ms is first within 20 dB of the loudest of the first 300 ms after any sound.
pub fn onset_of(sound: &[f32]) -> Option<usize> {
    const STEP: usize = 8;
    let powers = powers(sound, 132, STEP);
    let loudest = powers.iter().fold(0.0f64, |most, now| most.max(*now));
    let first = powers.iter().position(|now| *now > 1e-6 * loudest && *now > 1e-12)?;
    let top = powers[first..].iter().take((0.3 * RATE) as usize / STEP).fold(0.0f64, |most, now| most.max(*now));
    powers[first..].iter().position(|now| *now > 0.01 * top).map(|at| (first + at) * STEP)
}

/// The sample at which the level over 20 ms is first within 3 dB of that of the note's body (the middle one from 120 to 400 ms).
pub fn body_after(sound: &[f32], onset: usize) -> usize {
    const STEP: usize = 32;
    let powers = powers(&sound[onset..], 882, STEP);
    let at = |seconds: f64| ((seconds * RATE) as usize / STEP).min(powers.len());
    let mut body: Vec<f64> = powers[at(0.12)..at(0.4)].to_vec();
    body.sort_by(f64::total_cmp);
    let loudest = powers.iter().fold(0.0f64, |most, now| most.max(*now));
    let level = body.get(body.len() / 2).copied().unwrap_or(loudest).min(loudest);
    onset + STEP * powers.iter().position(|now| *now > 0.5 * level).unwrap_or(0)
}

/// How far a steady sound lies from a pitch, in half steps. The lag is looked for, near a whole number of periods, at which the
/// sound is most like itself. `None` where there is no such lag within a half step.
pub fn off_pitch(body: &[f32], pitch: f64) -> Option<f64> {
    let period = RATE / Midi(pitch).hertz(A440).0;
    let periods = (0.02 * RATE / period).floor().clamp(1.0, 12.0);
    let middle = periods * period;
    let (low, high) = ((middle * 0.94) as usize, (middle * 1.06) as usize + 1);
    let from = 441;
    let count = (0.3 * RATE) as usize;
    let count = count.min(body.len().checked_sub(from + high + 2)?);
    if count < 2 * high {
        return None;
    }
    let like = |lag: usize| -> f64 {
        let (one, other) = (&body[from..from + count], &body[from + lag..from + lag + count]);
        let product: f64 = one.iter().zip(other).map(|(a, b)| f64::from(a * b)).sum();
        let energy = |part: &[f32]| part.iter().map(|a| f64::from(a * a)).sum::<f64>();
        product / (energy(one) * energy(other)).sqrt().max(1e-12)
    };
    // The clear lag that is nearest: one farther off belongs to another number of periods.
    let likes: Vec<f64> = (low..=high).map(like).collect();
    let peak = |i: &usize| likes[*i] > 0.8 && likes[*i] >= likes[i - 1] && likes[*i] >= likes[i + 1];
    let best = (1..likes.len() - 1)
        .filter(peak)
        .min_by(|a, b| (*a as f64 + low as f64 - middle).abs().total_cmp(&(*b as f64 + low as f64 - middle).abs()))?;
    let bent = likes[best - 1] - 2.0 * likes[best] + likes[best + 1];
    let part = if bent.abs() > 1e-12 { 0.5 * (likes[best - 1] - likes[best + 1]) / bent } else { 0.0 };
    Some(12.0 * (middle / (low as f64 + best as f64 + part)).log2())
}
