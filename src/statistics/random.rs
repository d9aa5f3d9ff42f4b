//! Numbers by chance, the same on every machine.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng as _, SeedableRng};
use rand_distr::{Beta, Distribution, Gamma, StandardNormal};

/// A source of random numbers from a seed.
#[derive(Clone, Debug)]
pub struct Random(ChaCha8Rng);

impl Random {
    /// The same seed gives the same numbers.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Evenly between 0 and 1, neither included.
    pub fn share(&mut self) -> f64 {
        (f64::from(self.0.next_u32()) + 0.5) / 4_294_967_296.0
    }

    /// A whole number from 0 to `count` − 1.
    pub fn below(&mut self, count: usize) -> usize {
        ((u64::from(self.0.next_u32()) * count as u64) >> 32) as usize
    }

    /// Normal, mean 0, standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }

    /// A probability of which so many yes and no have been seen; the mean where one of them is nothing.
    pub fn probability(&mut self, yes: f64, no: f64) -> f64 {
        match Beta::new(yes, no) {
            Ok(beta) => beta.sample(&mut self.0),
            Err(_) => yes / (yes + no).max(f64::MIN_POSITIVE),
        }
    }

    /// Gamma distribution of this shape, scale 1; its mean, the shape, where that is not above zero.
    pub fn gamma(&mut self, shape: f64) -> f64 {
        match Gamma::new(shape, 1.0) {
            Ok(gamma) => gamma.sample(&mut self.0),
            Err(_) => shape,
        }
    }

    /// Puts a list in an order by chance.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for last in (1..list.len()).rev() {
            list.swap(last, self.below(last + 1));
        }
    }

    /// One of a few, by weight.
    pub fn choose(&mut self, weights: &[f64]) -> usize {
        let mut left = self.share() * weights.iter().sum::<f64>();
        for (at, weight) in weights.iter().enumerate() {
            left -= weight;
            if left < 0.0 {
                return at;
            }
        }
        weights.len().saturating_sub(1)
    }
}
