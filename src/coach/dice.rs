use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The coach's dice: seeded from outside, the same throws for the same seed on every machine (`ChaCha` with 8 rounds).
#[derive(Debug, Clone)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// Dice that will fall the same way for the same seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }
    /// A number from 0 up to, but not including, 1.
    pub fn throw(&mut self) -> f64 {
        // 53 bits are what the fraction of an f64 holds.
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }
}
