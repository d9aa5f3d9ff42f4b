//! Loads that a clock or a controller switches.

use super::super::calendar::{Hours, Moment, STEP, STEP_S};
use super::super::chance::Chance;
use super::{Behaviour, Surroundings};

/// Lighting in zones: most of them on, one or the other dark for a while.
pub(crate) struct Lights {
    hours: Hours,
    lit: [bool; 4],
}

impl Lights {
    pub(crate) fn new(hours: Hours) -> Self {
        Lights {
            hours,
            lit: [true; 4],
        }
    }
}

impl Behaviour for Lights {
    fn share(&mut self, moment: &Moment, _: &Surroundings, chance: &mut Chance) -> f64 {
        for lit in &mut self.lit {
            let wait = if *lit { 3.0 * 3600.0 } else { 1200.0 };
            if chance.strikes(STEP, wait) {
                *lit = !*lit;
            }
        }
        if !self.hours.contain(moment) {
            return 0.0;
        }
        f64::from(self.lit.iter().map(|&lit| u8::from(lit)).sum::<u8>()) / 4.0
    }
}

/// A controller that works for a while and rests for a while, within its hours.
pub(crate) struct Cycle {
    hours: Hours,
    mean_work_s: f64,
    mean_rest_s: f64,
    working: f64,
    resting: f64,
    on: bool,
    left_s: i64,
}

impl Cycle {
    pub(crate) fn new(hours: Hours, work_min: f64, rest_min: f64, shares: (f64, f64)) -> Self {
        Cycle {
            hours,
            mean_work_s: work_min * 60.0,
            mean_rest_s: rest_min * 60.0,
            working: shares.0,
            resting: shares.1,
            on: false,
            left_s: 0,
        }
    }
}

impl Behaviour for Cycle {
    fn share(&mut self, moment: &Moment, _: &Surroundings, chance: &mut Chance) -> f64 {
        if self.left_s <= 0 {
            self.on = !self.on;
            let mean = if self.on {
                self.mean_work_s
            } else {
                self.mean_rest_s
            };
            self.left_s = (mean * chance.between(0.7, 1.3)) as i64;
        }
        self.left_s -= STEP_S;
        if !self.hours.contain(moment) {
            return 0.0;
        }
        if self.on { self.working } else { self.resting }
    }
}
