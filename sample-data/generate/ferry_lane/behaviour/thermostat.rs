//! Heaters that keep something warm.

use super::super::calendar::{Hours, Moment, STEP_H};
use super::super::chance::Chance;
use super::{Behaviour, Surroundings};

/// A room, cupboard or tank that loses heat to the outside, with a heater and a thermostat.
pub(crate) struct Thermostat {
    hours: Hours,
    setpoint_c: f64,
    /// How much warmer than outdoors it would get with the heater always on. [K]
    rise_k: f64,
    time_constant_h: f64,
    temperature_c: f64,
    calls: bool,
}

impl Thermostat {
    pub(crate) fn new(hours: Hours, setpoint_c: f64, rise_k: f64, time_constant_h: f64) -> Self {
        Thermostat {
            hours,
            setpoint_c,
            rise_k,
            time_constant_h,
            temperature_c: 9.0,
            calls: false,
        }
    }
}

/// Half the width of the band in which the thermostat keeps still. [K]
const HALF_BAND_K: f64 = 0.4;

impl Behaviour for Thermostat {
    fn share(&mut self, moment: &Moment, around: &Surroundings, _: &mut Chance) -> f64 {
        if self.temperature_c < self.setpoint_c - HALF_BAND_K {
            self.calls = true;
        } else if self.temperature_c > self.setpoint_c + HALF_BAND_K {
            self.calls = false;
        }
        let on = self.calls && self.hours.contain(moment);
        // Reckoned with the rated power, not the actual one: a fault in the supply must not change
        // when heaters switch, or the healthy twin would have other loads.
        let heating = if on { self.rise_k } else { 0.0 };
        self.temperature_c +=
            (around.outdoor_c + heating - self.temperature_c) * STEP_H / self.time_constant_h;
        f64::from(u8::from(on))
    }
}
