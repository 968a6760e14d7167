//! Random numbers for invented players and answers, with a seed, so that a test is the same every time.

use earfirst::outside::coach::Rng;

pub struct Chance(Rng);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(Rng::new(seed))
    }
    /// A number between two bounds, all equally likely.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.uniform()
    }
    /// A normally distributed number with mean 0 (Box and Muller 1958).
    pub fn normal(&mut self, deviation: f64) -> f64 {
        let (one, two) = (1.0 - self.0.uniform(), self.0.uniform());
        deviation * (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * two).cos()
    }
    pub fn happens(&mut self, probability: f64) -> bool {
        self.0.uniform() < probability
    }
    /// A whole number from `low` up to `high`, both included.
    pub fn whole(&mut self, low: i32, high: i32) -> i32 {
        low + (f64::from(high - low + 1) * self.0.uniform()) as i32
    }
    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.whole(0, from.len() as i32 - 1) as usize]
    }
    /// `count` different ones of these, in random order.
    pub fn some<T: Copy>(&mut self, from: &[T], count: usize) -> Vec<T> {
        let mut left = from.to_vec();
        (0..count.min(left.len())).map(|_| left.remove(self.whole(0, left.len() as i32 - 1) as usize)).collect()
    }
}
