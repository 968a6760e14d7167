use super::*;

fn noise(seed: u64, count: usize) -> Vec<f32> {
    let mut state = seed;
    (0..count)
        .map(|_| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f32 / (1u64 << 24) as f32 - 0.5
        })
        .collect()
}

#[test]
fn a_known_sound_through_two_paths_is_taken_out() {
    let rate = SampleRate::CD;
    let mut canceller = Canceller::new(rate, Seconds(0.4));
    let block = canceller.block();
    let sent = noise(3, 100 * block);
    let came: Vec<f32> = (0..sent.len())
        .map(|n| {
            let at = |late: usize| n.checked_sub(late).map_or(0.0, |n| sent[n]);
            0.5 * at(400) - 0.2 * at(2500)
        })
        .collect();
    let power = |samples: &[f32]| samples.iter().map(|s| s * s).sum::<f32>();
    let (mut residual, mut all) = (0.0, 0.0);
    for (n, (sent, came)) in sent.chunks(block).zip(came.chunks(block)).enumerate() {
        canceller.predict(sent);
        canceller.adapt(came);
        if n >= 70 {
            residual += power(canceller.residual());
            all += power(came);
        }
    }
    assert!(10.0 * (all / residual).log10() > 20.0, "{:.1} dB taken out", 10.0 * (all / residual).log10());
    assert!((canceller.gain() - 0.29).abs() < 0.03, "{}", canceller.gain()); // .5 squared and .2 squared
}
