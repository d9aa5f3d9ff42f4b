//! What flows at a node under an allocation.

use num_complex::Complex64;

use crate::problem::currents::phasor_sum;

/// Currents of a node, interval by interval.
#[derive(Clone, Debug)]
pub struct NodeCurrents<'n> {
    /// On L1, L2, L3, each relative to its own phase voltage. (A)
    pub phases: [Vec<Complex64>; 3],
    /// In the neutral alone, in the common frame; empty where there is nothing of the kind. (A)
    pub neutral_alone: &'n [Complex64],
    /// Part of the neutral that phasors cannot explain; empty where there is none. (A)
    pub beyond: &'n [f64],
    /// Mean squares of L1, L2, L3 and N as measured, less those of the intervals above. (A²)
    pub unresolved_square: [f64; 4],
}

impl NodeCurrents<'_> {
    /// The neutral's phasor in one interval, in the common frame. (A)
    #[must_use]
    pub fn neutral(&self, interval: usize) -> Complex64 {
        let alone = self.neutral_alone.get(interval).copied();
        phasor_sum(&self.phases, interval) + alone.unwrap_or_default()
    }

    /// Square of the neutral in one interval, with its part beyond the phasors. (A²)
    #[must_use]
    pub fn neutral_square(&self, interval: usize) -> f64 {
        let beyond = self.beyond.get(interval).copied().unwrap_or(0.0);
        self.neutral(interval).norm_sqr() + beyond * beyond
    }

    /// Number of intervals.
    #[must_use]
    pub fn intervals(&self) -> usize {
        self.phases[0].len()
    }
}
