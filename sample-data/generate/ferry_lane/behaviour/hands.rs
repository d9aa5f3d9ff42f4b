//! Things that somebody picks up, uses and puts down.

use super::super::calendar::{Hours, Moment, STEP};
use super::super::chance::Chance;
use super::machine::is_break;
use super::{Behaviour, Surroundings};

/// On for a while, off for a while, at a level that changes with the job.
pub(crate) struct Hands {
    hours: Hours,
    mean_on_s: f64,
    mean_off_s: f64,
    level: (f64, f64),
    now: Option<f64>,
}

impl Hands {
    pub(crate) fn new(hours: Hours, mean_on_s: f64, mean_off_s: f64, level: (f64, f64)) -> Self {
        Hands {
            hours,
            mean_on_s,
            mean_off_s,
            level,
            now: None,
        }
    }
}

impl Behaviour for Hands {
    fn share(&mut self, moment: &Moment, _: &Surroundings, chance: &mut Chance) -> f64 {
        let wait = match self.now {
            Some(_) => self.mean_on_s,
            None => self.mean_off_s,
        };
        if chance.strikes(STEP, wait) {
            self.now = match self.now {
                Some(_) => None,
                None => Some(chance.between(self.level.0, self.level.1)),
            };
        }
        if !self.hours.contain(moment) || is_break(moment) {
            return 0.0;
        }
        self.now.unwrap_or(0.0)
    }
}
