//! Battery chargers: full current, then a tail, then a trickle.

use super::super::calendar::{Hours, Moment, STEP_S};
use super::super::chance::Chance;
use super::{Behaviour, Surroundings};

/// A charger that is plugged in when its hours begin.
pub(crate) struct Charger {
    hours: Hours,
    /// Chance that there is anything to charge that day.
    needed: f64,
    /// Least and most time at full current. [h]
    full_h: (f64, f64),
    was_on: bool,
    full_left_s: i64,
    level: f64,
}

impl Charger {
    pub(crate) fn new(hours: Hours, needed: f64, full_h: (f64, f64)) -> Self {
        Charger {
            hours,
            needed,
            full_h,
            was_on: false,
            full_left_s: 0,
            level: 0.0,
        }
    }
}

/// Share of the rating while a full battery is kept full.
const TRICKLE: f64 = 0.02;
/// The tail loses this share in each step: a time constant of half an hour.
const TAIL: f64 = 1.0 / 180.0;

impl Behaviour for Charger {
    fn share(&mut self, moment: &Moment, _: &Surroundings, chance: &mut Chance) -> f64 {
        let on = self.hours.contain(moment);
        if on && !self.was_on {
            let hours = chance.between(self.full_h.0, self.full_h.1);
            let needed = chance.happens(self.needed);
            self.full_left_s = if needed { (hours * 3600.0) as i64 } else { 0 };
            self.level = if needed { 1.0 } else { 0.0 };
        }
        self.was_on = on;
        if !on || self.level <= 0.0 {
            return 0.0;
        }
        if self.full_left_s > 0 {
            self.full_left_s -= STEP_S;
        } else {
            self.level = (self.level * (1.0 - TAIL)).max(TRICKLE);
        }
        self.level
    }
}
