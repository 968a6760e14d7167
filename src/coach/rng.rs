use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng as _, SeedableRng};

/// The coach's random generator. Its seed comes from outside; the same seed gives the same numbers on every machine (`ChaCha` with
/// 8 rounds).
#[derive(Debug, Clone)]
pub struct Rng(ChaCha8Rng);

impl Rng {
    /// The generator of this seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }
    /// A number from 0 up to, but not including, 1.
    pub fn uniform(&mut self) -> f64 {
        // The significand of an f64 has 53 bits.
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }
}
