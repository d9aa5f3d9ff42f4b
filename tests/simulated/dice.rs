//! Seeded random numbers.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A die of a seed.
#[derive(Clone, Debug)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// Of this seed.
    #[must_use]
    pub fn new(seed: u64) -> Dice {
        Dice(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Evenly spread from 0 to 1.
    pub fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly spread between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Evenly over the orders of magnitude.
    pub fn scale(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// Normally spread about 0 (G. E. P. Box and M. E. Muller, 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.share()).cos()
    }
}
