//! Repeatable chance: one stream per load, so that a change to one leaves the others alone.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A stream of random numbers.
pub(crate) struct Chance(ChaCha8Rng);

impl Chance {
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(stream);
        Chance(rng)
    }

    /// From 0 to just below 1.
    pub(crate) fn uniform(&mut self) -> f64 {
        // The 53 high bits, as many as an f64 holds.
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    pub(crate) fn happens(&mut self, probability: f64) -> bool {
        self.uniform() < probability
    }

    /// Does an event with this mean waiting time fall in a step of this length?
    pub(crate) fn strikes(&mut self, step_s: f64, mean_wait_s: f64) -> bool {
        self.happens(step_s / mean_wait_s)
    }

    /// Near enough normal, mean 0 and variance 1: twelve uniforms less six.
    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// A value that wanders about 0 and is pulled back.
pub(crate) struct Wander {
    value: f64,
    deviation: f64,
    time_constant_s: f64,
}

impl Wander {
    pub(crate) fn new(deviation: f64, time_constant_s: f64) -> Self {
        Wander {
            value: 0.0,
            deviation,
            time_constant_s,
        }
    }

    pub(crate) fn step(&mut self, step_s: f64, chance: &mut Chance) -> f64 {
        // First-order autoregression: keeps the stationary standard deviation at `deviation`.
        let keep = 1.0 - step_s / self.time_constant_s;
        let push = (1.0 - keep * keep).sqrt();
        self.value = keep * self.value + push * self.deviation * chance.normal();
        self.value
    }
}
