//! How loads come and go: each answers, step by step, with the share of its rating that it draws.

mod charger;
mod hands;
mod machine;
mod thermostat;
mod timer;

pub(crate) use charger::Charger;
pub(crate) use hands::Hands;
pub(crate) use machine::{Extraction, Machine};
pub(crate) use thermostat::Thermostat;
pub(crate) use timer::{Cycle, Lights};

use super::calendar::Moment;
use super::chance::Chance;

/// What a load knows of the world around it.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Surroundings {
    pub(crate) outdoor_c: f64,
    /// A machine that makes chips is running.
    pub(crate) chips: bool,
}

/// One habit.
pub(crate) trait Behaviour {
    /// Share of the rating in this step; 0 is off.
    fn share(&mut self, moment: &Moment, around: &Surroundings, chance: &mut Chance) -> f64;
}
