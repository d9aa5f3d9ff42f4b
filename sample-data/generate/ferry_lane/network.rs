//! The supply, the two boards and the conductors between them.
//!
//! Fundamental voltages and currents are complex. Third harmonics are added as magnitudes, all taken
//! at the same angle, and carry no power; their voltage drop is left out.

use num_complex::Complex64;

use super::faults::JOINT_PHASE;
use super::load::{Load, Place};
use super::source::directions;

/// Impedance of the supply up to the main meter, per phase. [Ω]
pub(crate) const SUPPLY_PHASE_OHM: Complex64 = Complex64::new(0.030, 0.015);
/// Impedance of its neutral. [Ω]
pub(crate) const SUPPLY_NEUTRAL_OHM: Complex64 = Complex64::new(0.020, 0.0);
/// 14 m of 25 mm² copper, each conductor. [Ω]
const DB1_FEEDER_OHM: Complex64 = Complex64::new(0.0102, 0.0011);
/// 46 m of 16 mm² copper, each conductor. [Ω]
const DB2_FEEDER_OHM: Complex64 = Complex64::new(0.0529, 0.0037);

/// Voltages and currents at one place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Node {
    /// Phase to neutral. [V]
    pub(crate) volts: [Complex64; 3],
    /// Fundamental, out of the node to its loads. [A]
    pub(crate) current: [Complex64; 3],
    /// Third harmonic. [A]
    pub(crate) third: [f64; 3],
}

impl Node {
    fn new() -> Self {
        Node {
            volts: directions().map(|direction| direction * 237.0),
            current: [Complex64::ZERO; 3],
            third: [0.0; 3],
        }
    }

    fn take(&mut self, current: &[Complex64; 3], third: &[f64; 3]) {
        for k in 0..3 {
            self.current[k] += current[k];
            self.third[k] += third[k];
        }
    }

    fn clear(&mut self) {
        self.current = [Complex64::ZERO; 3];
        self.third = [0.0; 3];
    }

    /// Rms phase currents with their third harmonic. [A]
    pub(crate) fn phase_a(&self) -> [f64; 3] {
        std::array::from_fn(|k| (self.current[k].norm_sqr() + self.third[k] * self.third[k]).sqrt())
    }

    /// Rms neutral current: phasor sum of the fundamental, plain sum of the third harmonics. [A]
    pub(crate) fn neutral_a(&self) -> f64 {
        let fundamental: Complex64 = self.current.iter().sum();
        let third: f64 = self.third.iter().sum();
        (fundamental.norm_sqr() + third * third).sqrt()
    }

    /// Rms phase voltages. [V]
    pub(crate) fn phase_v(&self) -> [f64; 3] {
        self.volts.map(|v| v.norm_sqr().sqrt())
    }

    /// Rms voltages L1–L2, L2–L3, L3–L1. [V]
    pub(crate) fn line_v(&self) -> [f64; 3] {
        std::array::from_fn(|k| (self.volts[k] - self.volts[(k + 1) % 3]).norm_sqr().sqrt())
    }

    /// Active and reactive power per phase. [W, var]
    pub(crate) fn power(&self) -> [Complex64; 3] {
        std::array::from_fn(|k| self.volts[k] * self.current[k].conj())
    }
}

/// The installation.
pub(crate) struct Network {
    /// At the main meter.
    pub(crate) supply: Node,
    /// Joinery board.
    pub(crate) db1: Node,
    /// Boat-shed board.
    pub(crate) db2: Node,
}

impl Network {
    pub(crate) fn new() -> Self {
        Network {
            supply: Node::new(),
            db1: Node::new(),
            db2: Node::new(),
        }
    }

    /// Finds voltages and currents that agree. Drops are a few volts, so each round cuts the error by
    /// a factor of about fifty; four rounds from the last step's voltages leave microvolts.
    pub(crate) fn solve(&mut self, emf: [Complex64; 3], joint_ohm: f64, loads: &mut [Load]) {
        for _ in 0..4 {
            self.gather(loads);
            let neutral: Complex64 = self.supply.current.iter().sum();
            for (k, &e) in emf.iter().enumerate() {
                let joint = if k == JOINT_PHASE { joint_ohm } else { 0.0 };
                self.supply.volts[k] = e
                    - (SUPPLY_PHASE_OHM + joint) * self.supply.current[k]
                    - SUPPLY_NEUTRAL_OHM * neutral;
            }
            feed(&self.supply, &mut self.db1, DB1_FEEDER_OHM);
            feed(&self.supply, &mut self.db2, DB2_FEEDER_OHM);
        }
        // Currents and powers for the voltages just found.
        self.gather(loads);
    }

    fn gather(&mut self, loads: &mut [Load]) {
        self.supply.clear();
        self.db1.clear();
        self.db2.clear();
        for load in loads {
            let node = match load.place {
                Place::Supply => &mut self.supply,
                Place::Db1 => &mut self.db1,
                Place::Db2 => &mut self.db2,
            };
            load.settle(&node.volts);
            node.take(&load.draw.current, &load.draw.third);
        }
        for board in [&self.db1, &self.db2] {
            self.supply.take(&board.current, &board.third);
        }
    }
}

/// Voltages at the far end of a feeder whose neutral equals its phases.
fn feed(from: &Node, to: &mut Node, ohm: Complex64) {
    let neutral: Complex64 = to.current.iter().sum();
    for k in 0..3 {
        to.volts[k] = from.volts[k] - ohm * (to.current[k] + neutral);
    }
}
