//! The voltages of the supply without load.

use num_complex::Complex64;

use super::calendar::{Moment, STEP};
use super::chance::{Chance, Wander};
use super::weather::wave;

/// Difference of each phase from the mean. [V]
pub(crate) const LEVEL_V: [f64; 3] = [0.6, -0.3, 0.1];
/// How far each phase wanders from that by itself, standard deviation. [V]
pub(crate) const WANDER_V: f64 = 0.3;
/// Time constant of that wandering. [s]
pub(crate) const WANDER_S: f64 = 5400.0;

/// Unit phasors of L1, L2, L3: 0°, −120°, +120°.
pub(crate) fn directions() -> [Complex64; 3] {
    let sine = 3.0_f64.sqrt() / 2.0;
    [
        Complex64::new(1.0, 0.0),
        Complex64::new(-0.5, -sine),
        Complex64::new(-0.5, sine),
    ]
}

/// The transformer up the lane.
pub(crate) struct Source {
    chance: Chance,
    common: Wander,
    phases: [Wander; 3],
}

impl Source {
    pub(crate) fn new(seed: u64) -> Self {
        Source {
            chance: Chance::new(seed, 901),
            common: Wander::new(0.8, 1200.0),
            phases: std::array::from_fn(|_| Wander::new(WANDER_V, WANDER_S)),
        }
    }

    /// Open-circuit phase voltages of this step. [V]
    pub(crate) fn step(&mut self, moment: &Moment) -> [Complex64; 3] {
        // The village cooks in the evening and sleeps at night.
        let village = 1.2 * wave((moment.hour + 2.0) / 24.0);
        let common = 237.5 + village + self.common.step(STEP, &mut self.chance);
        let directions = directions();
        std::array::from_fn(|k| {
            let own = self.phases[k].step(STEP, &mut self.chance);
            directions[k] * (common + LEVEL_V[k] + own)
        })
    }
}
