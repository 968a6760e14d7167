use crate::sound::edge;
use crate::units::{SampleRate, Seconds};

/// Nominal length of the tick that ends a cue without notes, and of every knock.
pub const TICK: Seconds = Seconds(0.03);

/// A short knock with a peak near 1. Its partials stand in no simple ratio, so that no pitch is heard; `lift` multiplies their
/// frequencies.
pub(super) fn knock(rate: SampleRate, lift: f64) -> Vec<f32> {
    let count = rate.samples(TICK);
    (0..count)
        .map(|index| {
            let at = index as f64 / rate.per_second();
            let knock: f64 = [(1130.0, 0.5), (1790.0, 0.35), (2870.0, 0.25), (4310.0, 0.15)]
                .iter()
                .map(|(hz, share)| share * (std::f64::consts::TAU * hz * lift * at).sin())
                .sum();
            let close = 1.0 - edge((index as f64 + 1.0 - 0.6 * count as f64) / (0.4 * count as f64));
            (knock * edge(at / 0.001) * (-at / 0.006).exp() * close) as f32
        })
        .collect()
}
