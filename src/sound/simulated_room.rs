use crate::units::{Decibels, SampleRate, Seconds};

/// What a room makes of an impulse: the direct sound at sample 0, and from 3 ms on noise that dies by 60 dB in `reverberation`.
///
/// `direct_to_reverb` is the ratio of the two energies. `draw` gives numbers evenly spread over 0 to 1. The noise decays
/// exponentially, as in a diffuse field (Sabine's reverberation time); a practice room has about .3 to .6 s.
pub fn room_response(
    rate: SampleRate,
    reverberation: Seconds,
    direct_to_reverb: Decibels,
    draw: &mut impl FnMut() -> f64,
) -> Vec<f32> {
    let first = rate.samples(Seconds(0.003));
    let count = first + rate.samples(reverberation);
    let mut tail = vec![0.0f64; count];
    for (index, sample) in tail.iter_mut().enumerate().skip(first) {
        let past = (index - first) as f64 / rate.per_second();
        // The first reflections are few and apart; later ones are dense.
        let sparse = past < 0.02 && draw() > 0.04;
        let value = if sparse { 0.0 } else { 2.0 * draw() - 1.0 };
        *sample = value * 10f64.powf(-3.0 * past / reverberation.0) * if past < 0.02 { 3.0 } else { 1.0 };
    }
    let energy: f64 = tail.iter().map(|s| s * s).sum();
    let scale = (10f64.powf(-direct_to_reverb.0 / 10.0) / energy.max(1e-20)).sqrt();
    tail[0] = 1.0 / scale;
    tail.iter().map(|s| (s * scale) as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fixed sequence of numbers evenly spread over 0 to 1 (Knuth's MMIX constants).
    fn draws() -> impl FnMut() -> f64 {
        let mut state = 7u64;
        move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        }
    }

    #[test]
    fn a_room_has_the_ratio_and_the_decay_it_was_asked_for() {
        let rate = SampleRate::DEVICE;
        let room = room_response(rate, Seconds(0.4), Decibels(6.0), &mut draws());
        let energy = |part: &[f32]| part.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>();
        assert!((room[0] - 1.0).abs() < 1e-6);
        assert!((10.0 * (1.0 / energy(&room[1..])).log10() - 6.0).abs() < 0.01);
        // Two stretches a tenth of a second apart differ by a quarter of 60 dB.
        let at = |seconds: f64| energy(&room[rate.samples(Seconds(seconds))..rate.samples(Seconds(seconds + 0.05))]);
        let sunk = 10.0 * (at(0.1) / at(0.2)).log10();
        assert!((sunk - 15.0).abs() < 1.0, "{sunk}");
    }
}
