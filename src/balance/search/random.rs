//! Random choices that are the same on every machine.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A source of random numbers from a seed.
#[derive(Clone, Debug)]
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A number from 0 to `count` − 1.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        ((u64::from(self.0.next_u32()) * count as u64) >> 32) as usize
    }

    /// Gives one in `share` of the free units, by chance, any of its turns.
    pub(crate) fn turn_some(
        &mut self,
        turns: &mut [usize],
        share: usize,
        free: &[usize],
        choices: &[Vec<usize>],
    ) {
        for &i in free {
            if self.below(share) == 0 {
                turns[i] = choices[i][self.below(choices[i].len())];
            }
        }
    }

    /// An exponentially distributed number with mean 1.
    pub(crate) fn waiting(&mut self) -> f64 {
        -((f64::from(self.0.next_u32()) + 0.5) / 4_294_967_296.0).ln()
    }
}
