//! Woodworking machines and what follows them.

use super::super::calendar::{Hours, Moment, STEP};
use super::super::chance::Chance;
use super::{Behaviour, Surroundings};

/// A machine that is switched on for a job, idles, and cuts.
pub(crate) struct Machine {
    hours: Hours,
    mean_job_s: f64,
    mean_pause_s: f64,
    /// Share of the rating when idling and, on average, when cutting.
    idle: f64,
    cutting: f64,
    on: bool,
    cut: Option<f64>,
}

impl Machine {
    pub(crate) fn new(
        hours: Hours,
        mean_job_min: f64,
        mean_pause_min: f64,
        idle: f64,
        cutting: f64,
    ) -> Self {
        Machine {
            hours,
            mean_job_s: mean_job_min * 60.0,
            mean_pause_s: mean_pause_min * 60.0,
            idle,
            cutting,
            on: false,
            cut: None,
        }
    }
}

/// Tea at ten, dinner at half past twelve.
pub(super) fn is_break(moment: &Moment) -> bool {
    (10.0..10.25).contains(&moment.hour) || (12.5..13.0).contains(&moment.hour)
}

impl Behaviour for Machine {
    fn share(&mut self, moment: &Moment, _: &Surroundings, chance: &mut Chance) -> f64 {
        let wait = if self.on {
            self.mean_job_s
        } else {
            self.mean_pause_s
        };
        if chance.strikes(STEP, wait) {
            self.on = !self.on;
        }
        // A cut lasts forty seconds on average, and so does the pause before the next.
        if chance.strikes(STEP, 40.0) {
            self.cut = match self.cut {
                Some(_) => None,
                None => Some((self.cutting + 0.12 * chance.normal()).clamp(self.idle, 1.1)),
            };
        }
        if !self.on || !self.hours.contain(moment) || is_break(moment) {
            return 0.0;
        }
        self.cut.unwrap_or(self.idle)
    }
}

/// A fan that runs while chips are made, and two minutes longer.
#[derive(Default)]
pub(crate) struct Extraction {
    left_s: f64,
}

impl Behaviour for Extraction {
    fn share(&mut self, _: &Moment, around: &Surroundings, chance: &mut Chance) -> f64 {
        self.left_s = if around.chips {
            120.0
        } else {
            (self.left_s - STEP).max(0.0)
        };
        if self.left_s > 0.0 {
            0.84 + 0.02 * chance.normal()
        } else {
            0.0
        }
    }
}
