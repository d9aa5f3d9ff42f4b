//! One load: where it is connected, what it is, what it draws.

use num_complex::Complex64;

use super::behaviour::{Behaviour, Surroundings};
use super::calendar::Moment;
use super::chance::Chance;

/// The three places where loads are connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// Before the boards.
    Supply,
    /// Joinery.
    Db1,
    /// Boat shed.
    Db2,
}

/// Phases by index: 0, 1, 2 for L1, L2, L3.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tap {
    Neutral(usize),
    Between(usize, usize),
    ThreePhase,
}

/// How a load answers to voltage.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Nature {
    /// Fixed resistance; rated at 230 V.
    Heater,
    /// Fixed power; its magnetising part stays when the work goes.
    Motor { power_factor: f64 },
    /// Fixed power and power factor.
    Electronic { power_factor: f64 },
}

/// What a load or a group of equal loads draws in one step.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Draw {
    /// Fundamental current per phase. [A]
    pub(crate) current: [Complex64; 3],
    /// Third harmonic per phase. [A]
    pub(crate) third: [f64; 3],
    /// Active power per phase. [W]
    pub(crate) p: [f64; 3],
    /// Reactive power per phase, positive when lagging. [var]
    pub(crate) q: [f64; 3],
}

/// One row of the machine list, or a load that is not on it.
pub(crate) struct Load {
    pub(crate) name: &'static str,
    pub(crate) place: Place,
    pub(crate) tap: Tap,
    /// All of the row together. [W]
    pub(crate) rated_w: f64,
    pub(crate) nature: Nature,
    /// Share of the fundamental current.
    pub(crate) third_harmonic: f64,
    pub(crate) makes_chips: bool,
    pub(crate) listed: bool,
    pub(crate) behaviour: Box<dyn Behaviour>,
    pub(crate) chance: Chance,
    pub(crate) share: f64,
    pub(crate) draw: Draw,
}

impl Load {
    pub(crate) fn step(&mut self, moment: &Moment, surroundings: &Surroundings) {
        self.share = self
            .behaviour
            .share(moment, surroundings, &mut self.chance)
            .max(0.0);
    }

    pub(crate) fn is_running(&self) -> bool {
        self.share > 0.0
    }

    /// Works out the draw at these phase-to-neutral voltages.
    pub(crate) fn settle(&mut self, volts: &[Complex64; 3]) {
        self.draw = Draw::default();
        if !self.is_running() {
            return;
        }
        match self.tap {
            Tap::Neutral(k) => self.add(k, self.current(volts[k], 230.0, 1.0), volts),
            Tap::ThreePhase => {
                for (k, &v) in volts.iter().enumerate() {
                    self.add(k, self.current(v, 230.0, 1.0 / 3.0), volts);
                }
            }
            Tap::Between(a, b) => {
                let current = self.current(volts[a] - volts[b], 400.0, 1.0);
                self.add(a, current, volts);
                self.add(b, -current, volts);
            }
        }
    }

    /// Current through one branch of the load. [A]
    fn current(&self, v: Complex64, rated_v: f64, part: f64) -> Complex64 {
        let p = self.rated_w * self.share * part;
        let tangent = |power_factor: f64| (1.0 - power_factor * power_factor).sqrt() / power_factor;
        match self.nature {
            Nature::Heater => v * (p / (rated_v * rated_v)),
            Nature::Electronic { power_factor } => {
                (Complex64::new(p, p * tangent(power_factor)) / v).conj()
            }
            Nature::Motor { power_factor } => {
                let rated_q = self.rated_w * part * tangent(power_factor);
                let q = rated_q * (0.6 + 0.4 * self.share * self.share);
                (Complex64::new(p, q) / v).conj()
            }
        }
    }

    fn add(&mut self, k: usize, current: Complex64, volts: &[Complex64; 3]) {
        let s = volts[k] * current.conj();
        self.draw.current[k] += current;
        self.draw.third[k] += self.third_harmonic * current.norm_sqr().sqrt();
        self.draw.p[k] += s.re;
        self.draw.q[k] += s.im;
    }
}
