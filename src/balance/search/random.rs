//! Random choices that are the same on every machine.

use statistics::Random;

/// A source of random numbers from a seed.
#[derive(Clone, Debug)]
pub(crate) struct Dice(Random);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Random::new(seed))
    }

    /// A number from 0 to `count` − 1.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        self.0.below(count)
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
        -self.0.share().ln()
    }
}
