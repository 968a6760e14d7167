use std::f64::consts::TAU;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;

/// Draws of the kinds a player needs, from one generator.
#[derive(Debug, Clone)]
pub(super) struct PlayerDraws(pub ChaCha8Rng);

impl PlayerDraws {
    /// A number evenly spread over 0 to 1, 1 excluded.
    pub fn even(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }
    /// A number evenly spread between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }
    /// A number with a normal distribution about 0 and a deviation of 1 (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let (one, two) = (1.0 - self.even(), self.even());
        (-2.0 * one.ln()).sqrt() * (TAU * two).cos()
    }
    /// A length of time about `median`, skewed to the long side as human reaction times are (a lognormal; Luce, "Response Times",
    /// 1986, from memory).
    pub fn lognormal(&mut self, median: f64, sigma: f64) -> f64 {
        median * (sigma * self.normal()).exp()
    }
    /// Gives `true` with this probability.
    pub fn happens(&mut self, probability: f64) -> bool {
        self.even() < probability
    }
    /// A whole number below `count`; 0 for an empty choice.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.even() * count as f64) as usize).min(count.saturating_sub(1))
    }
    /// 1 or -1, equally likely.
    pub fn sign(&mut self) -> i32 {
        if self.happens(0.5) { 1 } else { -1 }
    }
}
